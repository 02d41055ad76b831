"""The core is quick to load: scipy, slow to load, comes in only with the first sum that needs it."""

import pkgutil
import subprocess
import sys

from equipment import domain


def test_no_module_of_the_core_loads_scipy_or_numpy() -> None:
    modules = [module.name for module in pkgutil.walk_packages(domain.__path__, "equipment.domain.")]
    assert "equipment.domain.plan" in modules
    script = f"import sys, {', '.join(modules)}; print([m for m in ('scipy', 'numpy') if m in sys.modules])"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert loaded.stdout.strip() == "[]"
