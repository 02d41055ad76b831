"""Print who may do what, whole, for an auditor: `python -m tests.rights`."""

import os

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    from tests.rights import matrix

    print(matrix.table(matrix.rows()), matrix.table(matrix.acts()), sep="\n\n")
