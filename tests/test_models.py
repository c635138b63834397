"""Speech models: taken in, checked, fetched over a connection that breaks, and removed."""

from __future__ import annotations

import hashlib
import json
import stat
import threading
import zipfile
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.cli.main import ExitStatus, run
from assistant.errors import BadModel, ListenerMissing
from assistant.hearing.vosk_model import FST_MARK, NEEDED, SPEAKER, check_layout
from assistant.listening import speech_models, spoken
from assistant.models import archive
from assistant.models.fetch import SITE, Patience, fetch, site
from assistant.models.shelf import RECORD, Checks, Shelf

NAME = "vosk-model-small-en-test"
IMPATIENT = Patience((0.0,))


def make_model(folder: Path, without: str = "", parts: tuple[str, ...] = (*NEEDED, *SPEAKER)) -> Path:
    """A folder that has the look of a model."""
    for part in parts:
        (folder / part).parent.mkdir(parents=True, exist_ok=True)
        (folder / part).write_bytes(FST_MARK + part.encode())
    if without:
        (folder / without).unlink()
    return folder


def make_zip(file: Path, root: str = f"{NAME}/") -> Path:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for part in (*NEEDED, *SPEAKER):
            packed.writestr(root + part, FST_MARK + part.encode())
    return file


@dataclass
class Trial:
    """Stands in for loading a model, which a folder with the look of one would not bear."""

    is_english: bool = True
    fault: ListenerMissing | None = None
    tried: list[str] = field(default_factory=list)

    def __call__(self, folder: Path) -> bool:
        self.tried.append(folder.name)
        if self.fault:
            raise self.fault
        return self.is_english


@pytest.fixture
def trial() -> Trial:
    return Trial()


@pytest.fixture
def shelf(tmp_path: Path, trial: Trial) -> Shelf:
    return Shelf(tmp_path / "models", Checks(check_layout, trial))


def inside(shelf: Shelf) -> list[str]:
    """Everything in the folder, hidden or not: nothing half done may stay."""
    return sorted(one.name for one in shelf.folder.iterdir()) if shelf.folder.is_dir() else []


# ------------------------------------------------------------------------------------------------------------ taken in


@pytest.mark.parametrize("is_nested", [False, True])
def test_a_folder_is_copied_and_recorded(shelf, trial, tmp_path, is_nested):
    root = make_model(tmp_path / "from" / NAME)
    model = shelf.add(root.parent if is_nested else root)
    assert (model.name, model.is_english, model.fault, model.sha256) == (NAME, True, "", "")
    assert model.size == sum(len(FST_MARK) + len(part) for part in (*NEEDED, *SPEAKER))
    assert model.source == str(root.parent if is_nested else root)
    assert root.is_dir()
    assert inside(shelf) == [NAME]
    assert shelf.models() == (model,)
    assert trial.tried == [NAME], "once tried, it need not be loaded again to be listed"


@pytest.mark.parametrize("root", [f"{NAME}/", ""])
def test_an_archive_is_unpacked_with_its_checksum(shelf, tmp_path, root):
    file = make_zip(tmp_path / f"{NAME}.zip", root)
    model = shelf.add(file)
    assert (model.name, model.sha256) == (NAME, hashlib.sha256(file.read_bytes()).hexdigest())
    assert inside(shelf) == [NAME]


def test_a_model_put_there_by_hand_is_tried_once(shelf, trial):
    make_model(shelf.folder / "by-hand")
    assert [(model.name, model.is_english) for model in shelf.models()] == [("by-hand", True)]
    assert shelf.english() == shelf.models()[0]
    assert trial.tried == ["by-hand"]


def test_a_model_of_another_language_does_not_lead(shelf, trial, tmp_path):
    trial.is_english = False
    shelf.add(make_model(tmp_path / NAME))
    assert shelf.models()[0].fault == ""
    assert shelf.english() is None


FOLDERS = [
    ("half copied", {"without": "graph/HCLr.fst"}, r"not whole: graph/HCLr\.fst is missing.*again"),
    ("no speaker part", {"without": "ivector/final.ie"}, r"not whole: ivector/final\.ie is missing"),
    ("foreign", {"parts": ("model.onnx", "README.md")}, "no Vosk model"),
    ("fixed graph", {"parts": ("am/final.mdl", "conf/model.conf", "graph/HCLG.fst")}, "fixed graph.*small one"),
]


@pytest.mark.parametrize(("kind", "how", "message"), FOLDERS, ids=[row[0] for row in FOLDERS])
def test_a_folder_that_is_no_whole_model_is_refused(shelf, trial, tmp_path, kind, how, message):
    with pytest.raises(BadModel, match=message):
        shelf.add(make_model(tmp_path / NAME, **how))
    assert inside(shelf) == []
    assert trial.tried == []


def test_empty_and_damaged_files_are_refused(shelf, tmp_path):
    model = make_model(tmp_path / NAME)
    (model / "am/final.mdl").write_bytes(b"")
    with pytest.raises(BadModel, match=r"am/final\.mdl is empty"):
        shelf.add(model)
    (model / "am/final.mdl").write_bytes(b"model")
    (model / "graph/Gr.fst").write_bytes(b"<html>")
    with pytest.raises(BadModel, match=r"damaged: graph/Gr\.fst is no graph"):
        shelf.add(model)


def test_a_model_that_does_not_load_leaves_nothing(shelf, trial, tmp_path):
    trial.fault = BadModel("it ends the process")
    with pytest.raises(BadModel, match="it ends"):
        shelf.add(make_model(tmp_path / NAME))
    assert inside(shelf) == []


@pytest.mark.parametrize("name", ["", "no such folder", "empty"])
def test_what_is_missing_or_empty_is_named(shelf, tmp_path, name):
    (tmp_path / "empty").mkdir()
    (tmp_path / "deep" / "empty").mkdir(parents=True)
    with pytest.raises(BadModel, match=r"no file or folder|nothing in|no Vosk model"):
        shelf.add(tmp_path / (name or "deep"))


@pytest.mark.parametrize("name", ["../x", ".hidden", "a/b", "a b", "ä", "x" * 101])
def test_a_name_stays_in_the_folder(shelf, tmp_path, name):
    with pytest.raises(BadModel, match="no name for a model"):
        shelf.add(make_model(tmp_path / NAME), name)
    with pytest.raises(BadModel, match="no name for a model"):
        shelf.remove(name)
    with pytest.raises(BadModel, match="no name for a model"):
        fetch(name, tmp_path, "http://127.0.0.1:9")


def test_a_second_model_of_a_name_is_refused_and_the_first_stays(shelf, tmp_path):
    first = shelf.add(make_model(tmp_path / NAME))
    with pytest.raises(BadModel, match=f"already.*remove {NAME}"):
        shelf.add(make_zip(tmp_path / f"{NAME}.zip"))
    assert shelf.models() == (first,)
    assert shelf.add(make_zip(tmp_path / f"{NAME}.zip"), "second").name == "second"


def test_a_model_that_lost_a_file_since_says_so(shelf, tmp_path):
    shelf.add(make_model(tmp_path / NAME))
    (shelf.folder / NAME / "graph/HCLr.fst").write_bytes(FST_MARK)
    assert "graph/HCLr.fst has another size" in shelf.models()[0].fault
    assert shelf.english() is None
    shelf.remove(NAME)
    assert inside(shelf) == []


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"format": 2}', '{"format": 1, "files": 3}', "\x00", "[" * 100_000])
def test_a_record_that_cannot_be_read_is_made_anew(shelf, trial, text):
    make_model(shelf.folder / NAME)
    (shelf.folder / NAME / RECORD).write_text(text, encoding="utf-8")
    assert shelf.models()[0].is_english
    assert json.loads((shelf.folder / NAME / RECORD).read_text(encoding="utf-8"))["format"] == 1


def test_removing_what_is_not_there_names_what_is(shelf, tmp_path):
    shelf.add(make_model(tmp_path / NAME))
    with pytest.raises(BadModel, match=f"no model other.*{NAME}"):
        shelf.remove("other")


def test_a_removal_that_broke_off_does_not_hinder_the_next(shelf, tmp_path):
    make_model(shelf.folder / f".removed-{NAME}")
    shelf.add(make_model(tmp_path / NAME))
    shelf.remove(NAME)
    assert list(shelf.folder.iterdir()) == []


def test_a_link_is_removed_and_what_it_leads_to_stays(shelf, tmp_path):
    model = make_model(tmp_path / NAME)
    shelf.folder.mkdir()
    (shelf.folder / "linked").symlink_to(model)
    shelf.remove("linked")
    assert inside(shelf) == []
    check_layout(model)


# ------------------------------------------------------------------------------------------------------------ archives

NAMES = ["../escaped", "/escaped", "a/../../escaped", "C:escaped", "a\\..\\..\\escaped"]


@pytest.mark.parametrize("name", NAMES)
def test_an_archive_writes_nowhere_else(shelf, tmp_path, name):
    file = make_zip(tmp_path / "a.zip")
    with zipfile.ZipFile(file, "a") as packed:
        packed.writestr(zipfile.ZipInfo(name), b"x")
    with pytest.raises(BadModel, match="elsewhere"):
        shelf.add(file)
    assert not [*tmp_path.rglob("escaped*"), *inside(shelf)]


def test_a_link_in_an_archive_is_refused(shelf, tmp_path):
    link = zipfile.ZipInfo(f"{NAME}/am/link")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    file = make_zip(tmp_path / "a.zip")
    with zipfile.ZipFile(file, "a") as packed:
        packed.writestr(link, "/etc/passwd")
    with pytest.raises(BadModel, match="has a link"):
        shelf.add(file)


@pytest.mark.parametrize(("limit", "value"), [("MOST_BYTES", 1 << 20), ("MOST_FILES", 12)])
def test_an_archive_that_unpacks_to_too_much_is_refused_unopened(shelf, tmp_path, monkeypatch, limit, value):
    file = make_zip(tmp_path / "a.zip")
    with zipfile.ZipFile(file, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("zeros", bytes(2 << 20))
    assert file.stat().st_size < 10_000
    monkeypatch.setattr(archive, limit, value)
    with pytest.raises(BadModel, match="more than any model"):
        shelf.add(file)
    assert inside(shelf) == []


def test_an_archive_that_lies_about_its_size_gives_no_more_than_it_says(shelf, tmp_path):
    file = tmp_path / "a.zip"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("zeros", bytes(1 << 20))
    data = file.read_bytes()
    size = (1 << 20).to_bytes(4, "little")
    assert data.count(size) == 2
    file.write_bytes(data.replace(size, (10).to_bytes(4, "little")))
    with pytest.raises(BadModel, match="no whole ZIP"):
        shelf.add(file)


def damaged(data: bytes) -> bytes:
    """One byte of the packed content changed."""
    at = data.index(b"graph/HCLr.fst") + len(b"graph/HCLr.fst") + 3
    return data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :]


@pytest.mark.parametrize(
    "spoil", [lambda data: data[: len(data) // 2], damaged, lambda data: b"<html>", lambda data: b""]
)
def test_a_damaged_archive_is_refused(shelf, tmp_path, spoil):
    file = make_zip(tmp_path / "a.zip")
    file.write_bytes(spoil(file.read_bytes()))
    with pytest.raises(BadModel, match="no whole ZIP archive"):
        shelf.add(file)
    assert inside(shelf) == []


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_archive_does_anything_but_unpack_or_be_refused(tmp_path_factory, data):
    """Bytes of a good archive changed, cut or put in at random."""
    place = tmp_path_factory.mktemp("any")
    content = bytearray(make_zip(place / "a.zip").read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content)))
        length = data.draw(st.integers(0, 8))
        content[at : at + length] = data.draw(st.binary(max_size=8))
    (place / "a.zip").write_bytes(content)
    try:
        unpacked = place / "deeper" / "unpacked"
        unpacked.parent.mkdir()
        archive.unpack(place / "a.zip", unpacked)
    except BadModel:
        pass
    assert {one.name for one in place.iterdir()} == {"a.zip", "deeper"}
    assert {one.name for one in (place / "deeper").iterdir()} <= {"unpacked"}


# ------------------------------------------------------------------------------------------------------------- fetched


@dataclass
class Site:
    """A site with one archive, which may break off after some bytes of each answer."""

    content: bytes
    index: object = None
    breaks: list[int] = field(default_factory=list)
    can_resume: bool = True
    version: str = '"1"'
    asked: list[tuple[str, str]] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)
    address: str = ""


@pytest.fixture
def web():
    place = Site(b"")

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            wanted = self.headers.get("Range", "")
            place.asked.append((self.path, wanted))
            if self.path == f"/{NAME}.zip":
                self.archive(wanted)
            elif self.path == "/model-list.json" and place.index is not None:
                self.answer(200, json.dumps(place.index).encode())
            else:
                self.answer(404, b"")

        def archive(self, wanted):
            start = int(wanted.removeprefix("bytes=").rstrip("-")) if wanted else 0
            if start >= len(place.content) and wanted:
                self.answer(416, b"", {"Content-Range": f"bytes */{len(place.content)}"})
                return
            if not (place.can_resume and wanted and self.headers.get("If-Range") == place.version):
                start = 0
            headers = {"ETag": place.version, **place.headers}
            self.answer(
                206 if start else 200, place.content[start:], headers, place.breaks.pop(0) if place.breaks else None
            )

        def answer(self, status, body, headers=None, most=None):
            self.send_response(status)
            for key, value in {"Content-Length": str(len(body)), **(headers or {})}.items():
                self.send_header(key, value)
            self.end_headers()
            self.wfile.write(body[:most])

        def log_message(self, *_):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    place.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield place
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def content(tmp_path) -> bytes:
    file = make_zip(tmp_path / "content.zip")
    with zipfile.ZipFile(file, "a") as packed:
        packed.writestr(f"{NAME}/README", bytes(range(256)) * 1000)
    return file.read_bytes()


def ranges(web: Site) -> list[str]:
    return [wanted for path, wanted in web.asked if path.endswith(".zip")]


def test_a_model_is_fetched_and_the_progress_told(web, content, tmp_path):
    web.content = content
    told: list[tuple[int, int | None]] = []
    file = fetch(NAME, tmp_path / "new", web.address, progress=lambda done, total: told.append((done, total)))
    assert file.read_bytes() == content
    assert (told[0], told[-1]) == ((0, len(content)), (len(content), len(content)))
    assert [one.name for one in file.parent.iterdir()] == [file.name]


def test_a_broken_connection_goes_on_where_it_was(web, content, tmp_path):
    web.content, web.breaks = content, [100_000, 50_000]
    assert fetch(NAME, tmp_path, web.address, patience=IMPATIENT).read_bytes() == content
    assert ranges(web) == ["", "bytes=100000-", "bytes=150000-"]


def test_what_came_is_kept_for_the_next_attempt(web, content, tmp_path):
    web.content, web.breaks = content, [100_000]
    with pytest.raises(BadModel, match="run the command again"):
        fetch(NAME, tmp_path, web.address, patience=Patience(()))
    told: list[int] = []
    assert fetch(NAME, tmp_path, web.address, progress=lambda done, total: told.append(done)).read_bytes() == content
    assert told[0] == 100_000


def test_another_version_or_a_site_that_cannot_go_on_begins_anew(web, content, tmp_path):
    web.content, web.breaks, web.can_resume = content, [100_000], False
    assert fetch(NAME, tmp_path, web.address, patience=IMPATIENT).read_bytes() == content
    web.breaks, web.can_resume = [70_000], True
    with pytest.raises(BadModel):
        fetch(NAME, tmp_path, web.address, patience=Patience(()))
    web.content, web.version = content[:-1] + b"!", '"2"'
    assert fetch(NAME, tmp_path, web.address).read_bytes() == web.content


def test_all_that_had_come_before_a_break_is_not_fetched_again(web, content, tmp_path):
    web.content = content
    (tmp_path / f"{NAME}.zip.part").write_bytes(content)
    (tmp_path / f"{NAME}.zip.version").write_text(web.version, encoding="utf-8")
    assert fetch(NAME, tmp_path, web.address).read_bytes() == content
    assert ranges(web) == [f"bytes={len(content)}-"]


@pytest.mark.parametrize("kind", ["sha256", "md5"])
def test_a_published_checksum_has_to_be_right(web, content, tmp_path, kind):
    web.content = content
    web.index = [{"name": NAME, kind: hashlib.new(kind, content).hexdigest().upper()}]
    fetch(NAME, tmp_path, web.address)
    web.index = [{"name": NAME, kind: hashlib.new(kind, b"other").hexdigest()}]
    with pytest.raises(BadModel, match=f"{kind}.*expected"):
        fetch(NAME, tmp_path / "other", web.address)
    assert not list((tmp_path / "other").glob("*.part"))


def test_a_checksum_of_the_keepers_has_to_be_right(web, content, tmp_path):
    web.content = content
    with pytest.raises(BadModel, match="expected"):
        fetch(NAME, tmp_path, web.address, "0" * 64)
    with pytest.raises(BadModel, match="no SHA-256"):
        fetch(NAME, tmp_path, web.address, "12")
    assert fetch(NAME, tmp_path, web.address, hashlib.sha256(content).hexdigest().upper()).is_file()


@pytest.mark.parametrize("index", [None, [], {}, [{"size": 1}], 3, [{"name": "vosk-model-small-en-other"}]])
def test_a_model_that_the_site_does_not_have_is_named(web, tmp_path, index):
    web.index = index
    with pytest.raises(BadModel, match=r"There is no .*absent.*(vosk-model-small-en-other|Check the name)"):
        fetch("absent", tmp_path, web.address)


def test_a_site_that_cannot_be_reached_is_named_with_another_way(tmp_path):
    with pytest.raises(BadModel, match=r"127\.0\.0\.1:9.*another machine"):
        fetch(NAME, tmp_path, "http://127.0.0.1:9", patience=IMPATIENT)


@pytest.mark.parametrize(
    "address", ["http://[::1", "http://example.test/modèles", "http://\udce9", "https://a b", "http://"]
)
def test_an_address_that_is_none_is_refused(tmp_path, address):
    with pytest.raises(BadModel, match="cannot be reached"):
        fetch(NAME, tmp_path, site(address), patience=IMPATIENT)


@pytest.mark.parametrize("length", ["many", "-1", ""])
def test_a_length_that_is_no_number_is_not_believed(web, content, tmp_path, length):
    web.content, web.headers["Content-Length"] = content, length
    assert fetch(NAME, tmp_path, web.address, patience=IMPATIENT).read_bytes() == content


def test_the_site_is_the_named_one_else_that_of_the_environment_else_the_makers():
    assert site("http://a/", {"ASSISTANT_MODEL_SITE": "http://b"}) == "http://a"
    assert site(None, {"ASSISTANT_MODEL_SITE": "http://b"}) == "http://b"
    assert site(None, {}) == SITE
    with pytest.raises(BadModel, match="no web address"):
        site("file:///etc")


# -------------------------------------------------------------------------------------------------------- the commands


@pytest.fixture
def told(tmp_path, monkeypatch, trial) -> Trial:
    """The commands keep their models in a folder of the test; loading one is played."""
    monkeypatch.setenv("ASSISTANT_DATA", str(tmp_path / "data"))
    monkeypatch.setattr(speech_models, "knows_english", trial)
    return trial


def test_a_model_is_added_listed_and_removed(told, tmp_path, capsys):
    assert run(["models", "add", str(make_model(tmp_path / NAME))]) == ExitStatus.OK
    assert "works, English" in capsys.readouterr().out
    assert run(["models", "list"]) == ExitStatus.OK
    assert NAME in capsys.readouterr().out
    assert run(["models", "list", "--json"]) == ExitStatus.OK
    listed = json.loads(capsys.readouterr().out)
    assert (listed["name"], listed["is_english"], listed["fault"]) == (NAME, True, "")
    assert run(["models", "remove", NAME]) == ExitStatus.OK
    assert run(["models", "remove", NAME]) == ExitStatus.FAILED
    assert f"There is no model {NAME}" in capsys.readouterr().err


def test_a_model_is_fetched_and_only_the_model_stays(told, web, content, tmp_path, capsys):
    web.content = content
    assert run(["models", "fetch", NAME, "--from", web.address]) == ExitStatus.OK
    output = capsys.readouterr().out
    assert hashlib.sha256(content).hexdigest() in output
    assert not list((tmp_path / "data").rglob("*.zip*"))
    assert run(["models", "fetch", NAME, "--from", web.address]) == ExitStatus.FAILED
    assert "already" in capsys.readouterr().err
    assert len(ranges(web)) == 1


def test_a_faulty_model_is_listed_with_what_to_do(told, tmp_path, capsys):
    make_model(tmp_path / "data" / "models" / "half", "am/final.mdl")
    assert run(["models", "list"]) == ExitStatus.PARTLY
    assert "am/final.mdl is missing. Copy or fetch it again." in capsys.readouterr().out


def test_without_an_english_model_there_is_no_such_listener(told, tmp_path):
    graph = spoken.Grammar.load([("g.jsgf", "#JSGF V1.0;\ngrammar g;\npublic <r> = left | right;")]).graph("r")
    with pytest.raises(ListenerMissing, match="assistant models fetch"):
        spoken.ears(graph, spoken.lexicon(), ["vosk"])
    assert "vosk" not in spoken.ears(graph, spoken.lexicon()).names
    make_model(tmp_path / "data" / "models" / "half", "am/final.mdl")
    with pytest.raises(ListenerMissing, match=r"am/final\.mdl is missing"):
        spoken.ears(graph, spoken.lexicon(), ["vosk"])


@dataclass
class Started:
    """Stands in for the listener, which would load the model."""

    folder: Path
    graph: object
    respellings: dict
    name: str = "vosk"
    cannot_hear: tuple[str, ...] = ("teasel", "tansy", "a", "b", "c", "d")


def test_with_an_english_model_it_leads_and_says_what_it_cannot_hear(told, tmp_path, monkeypatch, capsys):
    make_model(tmp_path / "data" / "models" / NAME)
    monkeypatch.setattr(speech_models, "VoskListener", Started)
    graph = spoken.Grammar.load([("g.jsgf", "#JSGF V1.0;\ngrammar g;\npublic <r> = left | right;")]).graph("r")
    ears = spoken.ears(graph, spoken.lexicon())
    assert ears.names[0] == "vosk"
    assert len(ears.names) > 1
    assert ears.listeners[0].folder.name == NAME
    assert ears.listeners[0].respellings["fores"] == ("fours",)
    (notice,) = spoken.notices(ears)
    assert notice.startswith("vosk does not know 6 words: a, b, c, d, tansy … See them all")
    assert run(["models", "words"]) == ExitStatus.PARTLY
    output = capsys.readouterr()
    assert output.out.split() == ["a", "b", "c", "d", "tansy", "teasel"]
    assert "respellings.dict" in output.err
    assert run(["models", "words", "--json"]) == ExitStatus.PARTLY
    assert json.loads(capsys.readouterr().out)["unknown"][-1] == "teasel"
