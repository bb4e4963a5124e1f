"""Does deploy/start say what is wrong and what to do, before anything long begins?"""

import os
import socket
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

START = Path(__file__).resolve().parents[2] / "deploy" / "start"
NOBODY = 65534


def start(environment: dict[str, str], *words: str) -> tuple[int, str]:
    done = subprocess.run(
        [str(START), *words], env=environment, capture_output=True, text=True, timeout=60
    )
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    return done.returncode, done.stderr


def test_a_taken_port_names_another(plain_environment: dict[str, str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        code, said = start(plain_environment, "--port", str(port))
    assert code == 1
    assert f"Port {port} on 127.0.0.1 is taken by another program." in said
    assert "deploy/start --port" in said


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--port", "eight"], "must be a number from 1 to 65535, not 'eight'"),
        (["--port", "70000"], "must be a number from 1 to 65535, not '70000'"),
        (["--port", "²"], "must be a number from 1 to 65535"),
        (["--tempo", "3"], "unrecognized arguments: --tempo 3"),
        (["--lan", "192.168.1.20"], "argument --lan: must be a name, as gallery.lan"),
        (["--lan", "gallery.lan", "--lan-ip", "8.8.8.8"], "argument --lan-ip: must be an address"),
    ],
)
def test_a_bad_option_is_named(
    plain_environment: dict[str, str], words: list[str], sentence: str
) -> None:
    code, said = start(plain_environment, *words)
    assert code == 2
    assert sentence in said
    assert "deploy/start --help" in said


@pytest.mark.parametrize(
    ("host", "sentence"),
    [
        ("203.0.113.9", "This machine has no address 203.0.113.9."),  # RFC 5737: nobody's address
        ("no.such.invalid", "The host 'no.such.invalid' is not known here."),  # RFC 6761
    ],
)
def test_a_host_that_is_not_here_is_named(
    plain_environment: dict[str, str], host: str, sentence: str
) -> None:
    code, said = start(plain_environment, "--host", host)
    assert (code, sentence in said) == (1, True)
    assert "0.0.0.0 for every device" in said


def test_a_folder_that_cannot_be_made_is_named(
    plain_environment: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    code, said = start(plain_environment, "--data", str(tmp_path / "file" / "data"))
    assert code == 1
    assert f"The data folder {tmp_path}/file/data may not be written (Not a directory)." in said
    assert "--data DIR" in said


def test_a_read_only_folder_is_named(tmp_path: Path) -> None:
    import bring_up
    import environment

    folder = tmp_path / "kept"
    folder.mkdir(mode=0o555)
    was = os.geteuid()
    for above in (tmp_path, *list(tmp_path.parents)[:3]):
        if above.stat().st_uid == was and above != Path("/tmp"):  # noqa: S108 - compared only
            above.chmod(above.stat().st_mode | 0o055)
    if was == 0:
        os.seteuid(NOBODY)  # root may write anywhere
    try:
        with pytest.raises(environment.Trouble, match=r"may not be written \(Permission denied\)"):
            bring_up.data_folder(folder)
    finally:
        os.seteuid(was)


def test_a_second_start_on_the_same_folder_is_refused(
    plain_environment: dict[str, str], tmp_path: Path
) -> None:
    import bring_up

    (tmp_path / "data").mkdir()
    with bring_up.lock(tmp_path / "data"):
        code, said = start(plain_environment, "--port", "8999")
    assert code == 1
    assert f"already runs on the data folder {tmp_path}/data (process {os.getpid()})" in said


def test_a_machine_without_python_is_told_what_to_install(
    plain_environment: dict[str, str],
) -> None:
    code, said = start({**plain_environment, "GALLERY_OPS_PYTHON": "no-such-python"})
    assert code == 1
    assert "it needs Python 3.11 or later, and none was found." in said
    assert "apt-get install -y python3 python3-venv" in said


def a_python(folder: Path, name: str, answer: str) -> str:
    """A program that answers as a Python would: 2 can make an environment, 1 cannot, 0 is old."""
    program = folder / name
    asked = f'[ "$1" = -c ] && echo {answer} && exit'
    program.write_text(f'#!/bin/sh\n{asked}\necho "$0" >&2\nexit 7\n')
    program.chmod(0o755)
    return str(program)


@pytest.mark.parametrize(
    ("answers", "taken"),
    [("22", 0), ("12", 1), ("02", 1), ("01", 1), ("11", 0)],
    ids=["first", "one that can make an environment", "new enough", "only it", "none can"],
)
def test_the_first_python_that_will_do_is_taken(
    plain_environment: dict[str, str], tmp_path: Path, answers: str, taken: int
) -> None:
    named = [a_python(tmp_path, f"python-{n}", answer) for n, answer in enumerate(answers)]
    code, said = start({**plain_environment, "GALLERY_OPS_PYTHON": " ".join(named)})
    assert (code, said.strip()) == (7, named[taken])


def test_a_python_without_venv_is_told_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    import environment

    monkeypatch.setattr(environment.importlib.util, "find_spec", lambda _: None)
    with pytest.raises(environment.Trouble, match=r"venv module is missing.*python3-venv"):
        environment.make(tmp_path / "venv", [], print)


def test_a_machine_without_network_is_told_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    import environment

    wanted = tmp_path / "requirements.txt"
    wanted.write_text("six==1.17.0\n")
    for name, value in {
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_INDEX_URL": "http://127.0.0.1:9/simple/",  # RFC 863's port: nobody answers
        "PIP_NO_CACHE_DIR": "1",
    }.items():
        monkeypatch.setenv(name, value)
    said: list[str] = []
    with pytest.raises(environment.Trouble, match="looks as if this machine has no network"):
        environment.make(tmp_path / "venv", [wanted], said.append)
    assert not environment.is_ready(tmp_path / "venv", [wanted])
    assert any("Installing packages" in line for line in said)


def test_a_changed_list_or_a_moved_folder_installs_again(tmp_path: Path) -> None:
    import environment

    wanted = tmp_path / "requirements.txt"
    wanted.write_text("# nothing\n")
    folder = tmp_path / "venv"
    said: list[str] = []
    environment.make(folder, [wanted], said.append)
    assert environment.is_ready(folder, [wanted])
    said.clear()
    environment.make(folder, [wanted], said.append)
    assert said == []
    folder.rename(tmp_path / "moved")
    assert not environment.is_ready(tmp_path / "moved", [wanted])
    wanted.write_text("# something else\n")
    (tmp_path / "moved").rename(folder)
    assert not environment.is_ready(folder, [wanted])


@pytest.mark.parametrize(
    ("host", "page"),
    [
        ("127.0.0.1", "http://127.0.0.1:8000/"),
        ("0.0.0.0", "http://127.0.0.1:8000/"),  # noqa: S104 - compared, not bound
        ("::1", "http://[::1]:8000/"),
        ("gallery.example", "http://gallery.example:8000/"),
    ],
)
def test_the_address_that_is_printed_opens_here(host: str, page: str) -> None:
    import bring_up

    assert bring_up.page_address(host, 8000) == page


def test_a_host_beyond_loopback_may_be_asked_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    import bring_up

    monkeypatch.setenv("GALLERY_OPS_HOSTS", "gallery.example")
    plan = bring_up.Plan(tmp_path, "192.0.2.7", 8000, None)
    settings = bring_up.child_environment(plan)
    assert settings["GALLERY_OPS_HOSTS"] == "gallery.example,192.0.2.7"
    monkeypatch.setattr(bring_up, "outward_address", lambda: "192.0.2.8")
    everywhere = bring_up.Plan(tmp_path, "0.0.0.0", 8000, None)  # noqa: S104 - not bound
    settings = bring_up.child_environment(everywhere)
    assert "192.0.2.8" in settings["GALLERY_OPS_HOSTS"].split(",")
