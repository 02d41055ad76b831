"""Static files as the shed serves them, looked for once in a process: else each client of a test would look anew."""

from typing import Any, ClassVar

from whitenoise.middleware import WhiteNoiseMiddleware


class StaticFiles(WhiteNoiseMiddleware):
    found: ClassVar[dict[str, Any]] = {}

    def add_files_from_finders(self) -> None:
        if not self.found:
            super().add_files_from_finders()
            self.found.update(self.files)
        self.files.update(self.found)
