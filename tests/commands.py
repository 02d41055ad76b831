"""Running a management command inside a test: (out, err, code), as a shell would see it."""

from io import StringIO

from django.core.management import CommandError, call_command


def manage(*arguments: str) -> tuple[str, str, int]:
    """`manage.py ...`: what it wrote, what it complained of, and its exit status."""
    out, err = StringIO(), StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=err)
        code = 0
    except CommandError as error:
        err.write(str(error))
        code = error.returncode
    except SystemExit as ended:
        code = int(ended.code or 0)
    return out.getvalue(), err.getvalue(), code
