"""The README's promises are held against the code."""

import re
from pathlib import Path

from django.core.management import get_commands

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()


def commands() -> list[str]:
    return re.findall(r"```sh\n(.*?)\n```", README, flags=re.S)


def test_each_command_is_one_line() -> None:
    assert len(commands()) == 3
    assert all("\n" not in command for command in commands())


def test_commands_name_what_exists() -> None:
    for command in commands():
        for name in re.findall(r"manage\.py (\w+)", command):
            assert name in get_commands()
        assert "-c constraints.txt" in command


def test_ci_runs_the_readmes_test_command() -> None:
    assert "grep -m1 -- '-m pytest' README.md" in (ROOT / ".ci/run").read_text()
    assert sum("-m pytest" in command for command in commands()) == 1


def test_pictures_are_there() -> None:
    assert all((ROOT / path).is_file() for path in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README))


def test_no_file_of_the_project_names_a_package_registry() -> None:
    addresses = re.compile(r"(pypi|npmjs|pythonhosted|deb\.debian)\.[a-z]+")
    for path in [ROOT / "constraints.txt", ROOT / "pyproject.toml", ROOT / ".ci/run"]:
        assert not addresses.search(path.read_text())


def test_nothing_else_stands_at_the_top_level() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml", "constraints.txt",
        "studio", "schedules", "firings", "templates", "static", "tests",
    }  # fmt: skip
    seen = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")}
    assert {name for name in seen if not name.endswith(".egg-info")} <= allowed
