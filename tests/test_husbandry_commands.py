"""The commands about coming days as a keeper runs them, on records that a typed session made."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run

REGISTER = """tag,number,name,species,sex,born,dam,sire,group
UK 0 123456 00001,101,Bramble,goat,male,2020-03-01,,,males
UK 0 123456 00002,102,Burdock,goat,male,2022-03-01,Tansy,Bramble,males
UK 0 123456 00003,201,Tansy,goat,female,2019-03-01,,,milkers
UK 0 123456 00004,202,Sorrel,goat,female,2021-03-01,Tansy,Bramble,milkers
UK 0 123456 00005,203,Yarrow,goat,female,2021-03-02,Campion,Bramble,milkers
UK 0 123456 00006,204,Campion,goat,female,2018-03-01,,,dry
UK 0 123456 00007,301,Bryony,sheep,female,2019-04-08,,,dry
"""

SETTINGS = """
holding = "Hedgerow Bank"
[[recheck]]
findings = ["scald"]
days = 7
[[medicine]]
name = "hedge drench"
meat_days = 28
milk_hours = 84
"""

FIRST = """tansy
left hind scald, sprayed
all four trimmed
condition three
done
sorrel
left fore overgrown
vet to look
condition two
don't keep her daughters
done
yarrow
all four trimmed
lame score three
done
finish
"""

SECOND = """tansy
left hind fine
done
sorrel
left fore fine
done
finish
"""


class Farm:
    """A store that commands are run on."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "herd.db"

    def run(self, *words: str, status: int = ExitStatus.OK) -> str:
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            got = run(["--store", str(self.path), *words])
        assert got == status, (out.getvalue(), err.getvalue())
        assert "Traceback" not in err.getvalue()
        return (out if status == ExitStatus.OK else err).getvalue()

    def json(self, *words: str) -> dict:
        return json.loads(self.run(*words, "--json"))

    def type(self, text: str, started: str) -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("sys.stdin", io.StringIO(text))
            self.run("type", "--started", started)


@pytest.fixture(scope="module")
def first_day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a holding after its first session; made once, as the grammar takes its time."""
    folder = tmp_path_factory.mktemp("holding")
    (folder / "register.csv").write_text(REGISTER)
    (folder / "settings.toml").write_text(SETTINGS)
    made = Farm(folder)
    made.run("register", "import", str(folder / "register.csv"))
    made.type(FIRST, "2026-05-01 09:00:00")
    return folder


@pytest.fixture
def farm(first_day: Path, tmp_path: Path) -> Farm:
    shutil.copytree(first_day, tmp_path / "holding")
    return Farm(tmp_path / "holding")


def by_name(rows: list[dict]) -> dict[str, dict]:
    return {row["animal"]: row for row in rows}


def test_due_lists_what_was_asked_for_what_the_rules_ask_for_and_trims(farm: Farm) -> None:
    got = farm.json("due", "--on", "2026-05-08")
    assert [(row["animal"], row["what"], row["due"], row["state"]) for row in got["follow_ups"]] == [
        ("Tansy", "re-check", "2026-05-08", "due"),
        ("Sorrel", "vet", "", "no day set"),
    ]
    assert got["follow_ups"][0]["why"] == "left hind scald"
    trims = by_name(farm.json("due", "--on", "2026-06-26")["trims"])
    assert trims["Tansy"]["due"] == "2026-06-26"
    assert (trims["Sorrel"]["due"], trims["Sorrel"]["why"]) == ("2026-05-15", "overgrown on 2026-05-01")
    shown = farm.run("due", "--on", "2026-05-08", "--group", "milkers")
    assert "Tansy   re-check  left hind scald" in shown
    assert "Bramble" not in shown


def test_a_follow_up_is_put_off_done_by_a_visit_or_by_word(farm: Farm) -> None:
    farm.run("due", "put-off", "tansy", "--until", "2026-05-20", "--on", "2026-05-08")
    assert [row["animal"] for row in farm.json("due", "--on", "2026-05-08")["follow_ups"]] == ["Sorrel"]
    row, _ = farm.json("due", "--on", "2026-05-21")["follow_ups"]
    assert (row["due"], row["state"]) == ("2026-05-20", "overdue, put off")
    farm.type(SECOND, "2026-05-19 09:00:00")
    assert [row["animal"] for row in farm.json("due", "--on", "2026-05-21")["follow_ups"]] == ["Sorrel"]
    assert "vet: done" in farm.run("due", "done", "Sorrel", "--what", "vet", "--on", "2026-05-21")
    assert "Nothing 'vet' is open for Sorrel" in farm.run("due", "done", "Sorrel", "--what", "vet", status=1)
    states = {row["what"]: row["state"] for row in farm.json("due", "--all", "--on", "2026-05-21")["follow_ups"]}
    assert states == {"re-check": "done", "vet": "done"}


def test_the_summary_says_what_is_still_due_from_before(farm: Farm) -> None:
    farm.type("sorrel\nleft fore fine\ndone\nfinish\n", "2026-05-19 09:00:00")
    assert farm.json("summary")["still_due"] == [{"on": "2026-05-08", "animal": "Tansy", "what": "re-check"}]
    assert "Still due from before\n  2026-05-08: Tansy, re-check" in farm.run("summary")
    farm.type(SECOND, "2026-05-20 09:00:00")
    assert farm.json("summary")["still_due"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("due", "plan", "--before", "2026-05-10", "--hours", "nan"),
        ("session", "--pause", "nan"),
        ("session", "--volume", "nan"),
    ],
)
def test_what_is_no_number_lies_within_no_bounds(farm: Farm, words: tuple[str, ...]) -> None:
    assert "'nan' is no number" in farm.run(*words, status=ExitStatus.USAGE)


def test_the_plan_for_a_date(farm: Farm) -> None:
    got = farm.json("due", "plan", "--before", "2026-05-10", "--on", "2026-05-08", "--hours", "0.2")
    assert {row["animal"] for row in got["must"]} == {"Bramble", "Burdock", "Sorrel", "Campion"}
    assert (got["minutes"], got["days_needed"], got["days_left"], got["is_enough"]) == (24, 2, 2, True)
    told = farm.run("due", "plan", "--before", "2026-05-09", "--on", "2026-05-08", "--hours", "0.2")
    assert "4 animals at 6 minutes each: 0.4 hours, so 2 days at 0.2 h a day. 1 day is left: not enough." in told


def test_a_birth_written_down_ends_what_was_to_come(farm: Farm) -> None:
    """Mated from 2025-10-01: no tipping from 2026-01-12."""
    farm.run("mating", "add", "--male", "bramble", "--group", "milkers", "--in", "2025-10-01")
    assert "Sorrel" in by_name(farm.json("mating", "--on", "2026-03-02")["births"])
    told = farm.run("mating", "born", "sorrel", "--young", "2", "--on", "2026-03-02")
    assert told.startswith("Sorrel: 2 born on 2026-03-02.")
    got = farm.json("mating", "--on", "2026-03-02")
    assert "Sorrel" not in by_name(got["births"])
    assert [(row["animal"], row["day"], row["young"]) for row in got["born"]] == [("Sorrel", "2026-03-02", 2)]
    assert "Births of the last 60 days: 1" in farm.run("mating", "--on", "2026-03-02")
    farm.run("mating", "born", "sorrel", "--young", "3", "--on", "2026-03-02")
    assert [row["young"] for row in farm.json("mating", "--on", "2026-03-02")["born"]] == [3], "said again, not twice"
    assert "Bramble is male" in farm.run("mating", "born", "bramble", "--young", "1", status=1)
    farm.type("yarrow\nkidded twins\ndone\nfinish\n", "2026-03-03 09:00:00")
    got = farm.json("mating", "--on", "2026-03-03")
    assert "Yarrow" not in by_name(got["births"])
    assert [row["animal"] for row in got["born"]] == ["Sorrel", "Yarrow"]
    assert farm.json("mating", "--on", "2026-06-01")["born"] == []


def test_males_in_and_out_give_births_and_returns(farm: Farm) -> None:
    farm.run("mating", "add", "--male", "bramble", "--group", "milkers", "--in", "2025-10-01")
    rows = by_name(farm.json("mating", "--on", "2026-01-20")["births"])
    assert set(rows) == {"Tansy", "Sorrel", "Yarrow"}
    tansy = rows["Tansy"]
    assert [tansy[key] for key in ("due", "to", "earliest", "latest", "no tipping from", "male", "mind")] == [
        *("2026-02-28", "2026-04-11", "2026-02-23", "2026-04-16", "2026-01-12", "Bramble", "do not tip")
    ]
    farm.run("mating", "end", "--male", "Bramble", "--out", "2025-10-22")
    assert by_name(farm.json("mating", "--on", "2026-01-20")["births"])["Tansy"]["to"] == "2026-03-21"
    farm.run("mating", "add", "--male", "102", "--female", "campion", "--in", "2025-10-20", "--seen")
    (row,) = farm.json("mating", "--on", "2025-11-08")["returns"]
    assert (row["animal"], row["from"], row["to"]) == ("Campion", "2025-11-07", "2025-11-11")
    assert farm.json("mating", "--on", "2025-11-12")["returns"] == []


def test_what_was_written_down_by_mistake_is_taken_back(farm: Farm) -> None:
    add = ("mating", "add", "--male", "bramble", "--group", "milkers", "--in", "2025-10-01")
    farm.run(*add)
    assert "written down already" in farm.run(*add, status=1)
    told = farm.run("mating", "born", "sorrel", "--young", "2", "--on", "2025-10-03")
    assert "She stays due on 2026-02-28: this birth is too early" in told
    assert "Sorrel: birth of 2025-10-03 taken back" in farm.run("mating", "take-back", "sorrel", "--on", "2025-10-03")
    assert farm.json("mating", "--on", "2025-10-04")["born"] == []
    assert "mating of 2025-10-01 taken back" in farm.run("mating", "take-back", "Sorrel", "--on", "2025-10-01")
    assert set(by_name(farm.json("mating", "--on", "2026-01-20")["births"])) == {"Tansy", "Yarrow"}
    farm.run("mating", "take-back", "bramble", "--on", "2025-10-01")
    assert farm.json("mating", "--on", "2026-01-20")["births"] == []
    assert "No mating or birth of Tansy" in farm.run("mating", "take-back", "tansy", "--on", "2025-10-01", status=1)
    for medicine in ("hedge drench", "moss tonic"):
        farm.run("treatments", "add", "tansy", "--medicine", medicine, "--at", "2026-03-01")
    take_back = ("treatments", "take-back", "tansy", "--at", "2026-03-01")
    assert "Name one with --medicine" in farm.run(*take_back, status=1)
    assert "hedge drench on 2026-03-01 taken back" in farm.run(*take_back, "--medicine", "Hedge Drench")
    assert "moss tonic on 2026-03-01 taken back" in farm.run(*take_back)
    assert "No such treatment of Tansy" in farm.run(*take_back, status=1)
    assert farm.json("treatments", "record", "--from", "2026-03-01", "--to", "2026-03-01")["given"] == []


def test_two_of_one_name_are_told_apart_in_lists(farm: Farm) -> None:
    (farm.path.parent / "more.csv").write_text("tag,number,name,sex\nUK 0 123456 00009,209,Tansy,female\n")
    farm.run("register", "import", str(farm.path.parent / "more.csv"))
    labels = {row["animal"] for row in farm.json("mating", "ready", "--on", "2026-05-02")["females"]}
    assert {"Tansy (201)", "Tansy (209)", "Sorrel"} <= labels


def test_daughters_that_were_not_to_be_kept_are_listed(farm: Farm) -> None:
    assert farm.json("mating")["daughters"] == []
    farm.type("tansy\ndon't keep her daughters\ndone\nfinish\n", "2026-05-02 09:00:00")
    assert farm.json("mating")["daughters"] == [{"dam": "Tansy", "daughter": "Sorrel"}]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--male", "Tansy", "--female", "Sorrel", "--in", "2026-10-01"), "Tansy is female"),
        (("--male", "Bramble", "--in", "2026-10-01"), "--female"),
        (("--male", "Bramble", "--group", "males", "--in", "2026-10-01"), "No female is in group 'males'"),
        (
            ("--male", "Bramble", "--group", "sheep", "--in", "2026-10-01"),
            "There is no group 'sheep'. Groups are: dry, m",
        ),
        (
            ("--male", "Bramble", "--female", "Burdock", "--in", "2026-10-01"),
            "Burdock is male in the register. Name a f",
        ),
        (("--male", "Bramble", "--female", "Bryony", "--in", "2026-10-01"), "Bramble is a goat and Bryony a sheep"),
        (("--male", "Bramble", "--female", "Sorrel", "--in", "2026-10-01", "--out", "2026-10-01", "--seen"), "one day"),
        (("--male", "Nobody", "--female", "Sorrel", "--in", "2026-10-01"), "No animal is called 'Nobody'"),
        (("--male", "Bramble", "--female", "Tansy", "--in", "2010-10-01"), "was born on"),
        (("--male", "Bramble", "--female", "Tansy", "--in", "2149-10-01", "--seen"), "has not come yet: a mating"),
        (("--male", "Bramble", "--female", "Sorrel", "--in", "2026-10-02", "--out", "2026-10-01"), "before they go in"),
    ],
)
def test_a_mating_that_cannot_be_is_refused(farm: Farm, words, said) -> None:
    assert said in farm.run("mating", "add", *words, status=ExitStatus.FAILED)
    assert farm.json("mating")["births"] == []


@pytest.mark.parametrize("said", ["tansy", " Tansy ", "201", "UK 0 123456 00003", "uk012345600003"])
def test_an_animal_is_found_by_name_number_or_tag(farm: Farm, said: str) -> None:
    assert farm.run("mating", "born", said, "--young", "1", "--on", "2026-05-01").startswith("Tansy: 1 born")


def test_of_two_with_one_name_the_number_is_asked(farm: Farm) -> None:
    (farm.path.parent / "more.csv").write_text("tag,number,name,sex\nUK 0 123456 00009,209,tansy,female\n")
    farm.run("register", "import", str(farm.path.parent / "more.csv"))
    told = farm.run("mating", "born", "TANSY", "--young", "1", status=1)
    assert "'TANSY' may be Tansy (201), tansy (209). Give the number or tag." in told


NOT_SO = [  # words, what is said
    (("due", "--on", "2026-02-30"), "2026-02-30 is no day of the calendar. Write it as 2026-10-01."),
    (("due", "--on", "0001-01-01"), "0001-01-01 is too far away. Days go from 1950-01-01 to 2149-12-31."),
    (("due", "--on", "9999-12-31", "--ahead", "730"), "too far away"),
    (("due", "--on", "2026-05-01 18:00"), "no day of the calendar"),
    (("treatments", "add", "tansy", "--medicine", "x", "--at", "banana"), "or with its hour as '2026-10-01 18:00'"),
    (("treatments", "add", "tansy", "--medicine", "x", "--at", "2149-01-01"), "has not come yet: a treatment"),
    (("treatments", "add", "tansy", "--medicine", " "), "No medicine is named"),
    (
        ("treatments", "add", "tansy", "--medicine", "x", "--at", "2026-05-01", "--began", "2026-05-02"),
        "ends on 2026-05-01, before it begins on 2026-05-02",
    ),
    (("treatments", "bought", " "), "No medicine is named"),
    (("treatments", "bought", "x", "--on", "2149-01-01"), "has not come yet: a purchase"),
    (("treatments", "record", "--from", "2026-05-02", "--to", "2026-05-01"), "before it begins"),
    (("mating", "born", "tansy", "--young", "2", "--on", "2149-01-01"), "has not come yet: a birth"),
    (("mating", "born", "tansy", "--young", "0"), "'--young'"),
    (("mating", "ready", "--on", "2026-05-02", "--by", "2026-05-01"), "The males go in on 2026-05-01, before 2026-05"),
    (("plan", "--on", "2026-05-02", "--mating", "2026-05-01"), "The males go in on 2026-05-01, before 2026-05-02"),
    (("due", "plan", "--on", "2026-05-02", "--before", "2026-05-02"), "there is nothing to plan for"),
    (("feet", "--from", "2026-05-02", "--to", "2026-05-01"), "before it begins"),
    (("due", "put-off", "sorrel", "--on", "2026-05-08", "--until", "2026-05-07"), "The new day is 2026-05-07, before"),
    (("feet", "--group", "dragons"), "There is no group 'dragons'. Groups are: dry, males, milkers."),
]


@pytest.mark.parametrize(("words", "said"), NOT_SO)
def test_what_cannot_be_is_one_sentence_and_nothing_is_recorded(farm: Farm, words, said) -> None:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(["--store", str(farm.path), *words])
    assert status in (ExitStatus.FAILED, ExitStatus.USAGE)
    assert said in err.getvalue()
    assert farm.json("treatments")["withheld"] == []
    assert farm.json("mating")["born"] == []


FAR = "tag,name,sex,born,due\nX 1,Tansy,female,9999-12-30,9999-12-30\nX 2,Sorrel,female,0001-01-01,0001-01-01\n"
EVERY_LIST = [
    *(["due"], ["due", "plan", "--before", "2149-12-31"], ["mating"], ["mating", "ready", "--by", "2149-12-31"]),
    *(["treatments"], ["treatments", "record", "--from", "1950-01-01"], ["feet"], ["plan"]),
]


@pytest.mark.parametrize("register", ["tag,name\n", FAR])
def test_lists_of_nobody_and_of_days_that_cannot_be(tmp_path: Path, register: str) -> None:
    far = Farm(tmp_path)
    (tmp_path / "register.csv").write_text(register)
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        run(["--store", str(far.path), "register", "import", str(tmp_path / "register.csv")])
    if not far.path.exists():
        far.run("register", "list")
    for words in EVERY_LIST:
        assert far.run(*words)


def test_who_may_not_go_to_the_male_and_why(farm: Farm) -> None:
    rows = by_name(farm.json("mating", "ready", "--by", "2026-06-01", "--on", "2026-05-20")["females"])
    assert rows["Tansy"]["is_ready"]
    assert rows["Sorrel"]["against"] == "condition 2 on 2026-05-01, below 2.5; no trim on record"
    assert rows["Yarrow"]["against"] == "lame, score 3 on 2026-05-01"
    assert rows["Yarrow"]["not known"] == "condition not known"
    shown = farm.run("mating", "ready", "--by", "2026-06-01", "--on", "2026-05-20")
    assert "May not go to the male: 3" in shown
    assert "Nothing against the other 1 of 5." in shown


def test_pairs_show_the_inbreeding_of_the_young(farm: Farm) -> None:
    rows = by_name(farm.json("mating", "pairs", "--male", "Bramble", "--male", "Burdock")["pairs"])
    values = {name: list(row["inbreeding"].values()) for name, row in rows.items()}
    assert values == {
        **{"Tansy": [0, 0.25], "Sorrel": [0.25, 0.25], "Yarrow": [0.25, 0.125], "Campion": [0, 0]},
        "Bryony": [],
    }
    assert rows["Bryony"]["within_limit"] == []
    shown = farm.run("mating", "pairs")
    assert "Bryony   -        -" in shown, "a ewe and a buck"
    assert "12.5*" in shown
    assert "may be higher" in shown


def test_treatments_are_withheld_recorded_and_completed(farm: Farm) -> None:
    farm.run("treatments", "bought", "hedge drench", "--on", "2026-04-01", "--batch", "B7", "--quantity", "1 l")
    farm.run(
        *("treatments", "add", "tansy", "--medicine", "Hedge Drench", "--at", "2026-03-01 18:00"),
        *("--batch", "B7", "--quantity", "one measure", "--by", "Rowan"),
    )
    (row,) = farm.json("treatments", "--on", "2026-03-02")["withheld"]
    assert (row["milk until"], row["milk from"], row["meat from"]) == ("2026-03-05 06:00", "2026-03-06", "2026-03-30")
    farm.run("treatments", "add", "Sorrel", "--medicine", "pond water", "--at", "2026-03-02")
    assert "use neither meat nor milk" in farm.run("treatments", "--on", "2026-03-03")
    got = farm.json("treatments", "record", "--from", "2026-03-01", "--to", "2026-05-31")
    first, second = got["given"]
    assert (first["animal"], first["meat clear"], first["missing"]) == ("Tansy UK 0 123456 00003", "2026-03-29", [])
    assert second["missing"] == ["quantity", "meat period", "milk period"]
    assert got["bought"][0]["batch"] == "B7"
    paper = farm.run("treatments", "record", "--from", "2026-03-01")
    assert "Treatment record of Hedgerow Bank, 2026-03-01 to" in paper
    assert "at least 42 days" in " ".join(paper.split())
    assert "five years" in paper


def test_what_is_given_now_says_what_is_withheld(farm: Farm) -> None:
    assert "pond water: withdrawal period not written down, ask your vet" in farm.run(
        "treatments", "add", "Sorrel", "--medicine", "pond water"
    )
    assert "Withheld: milk from" in farm.run("treatments", "add", "Tansy", "--medicine", "hedge drench")
    assert "No medicine is named" in farm.run("treatments", "add", "Tansy", status=ExitStatus.FAILED)
    assert "0 treatments of Tansy" in farm.run("treatments", "add", "Tansy", "--entry", "nothing", status=1)


def test_feet_are_counted(farm: Farm) -> None:
    farm.type(SECOND, "2026-05-19 09:00:00")
    got = farm.json("feet", "--from", "2026-05-01", "--to", "2026-05-31")
    assert {row["what"]: (row["affected"], row["of"]) for row in got["findings"]} == {
        "scald": (1, 3),
        "overgrown": (1, 3),
    }
    feet = {row["what"]: (row["affected"], row["of"]) for row in got["feet"]}
    assert (feet["left hind"], feet["left fore"], feet["hind feet"]) == ((1, 2), (1, 3), (1, 4))
    assert got["change"] | {"before": 0, "now": 0} == {
        "day": "2026-05-19", "before": 0, "now": 0, "new": 0, "gone": 2, "p": 0.5,
    }  # fmt: skip
    assert got["lameness"][0]["affected"] == 1
    assert 0 < got["findings"][0]["low"] < 1 / 3 < got["findings"][0]["high"]
    shown = farm.run("feet", "--from", "2026-05-01", "--to", "2026-05-31", "--group", "milkers")
    assert "p = 0.5; a change so uneven may well be chance" in shown
    assert "Few animals: a share of so few says little." in shown
    assert farm.json("feet", "--from", "2026-05-01", "--to", "2026-05-31", "--finding", "crack")["again"] == []
    asked = farm.run("feet", "--from", "2026-05-01", "--to", "2026-05-31", "--finding", " Bananas ")
    assert "bananas: not found in this period. Found were: overgrown, scald." in asked
    assert "not found" not in farm.run("feet", "--from", "2026-05-01", "--to", "2026-05-31", "--finding", "Scald")
    assert "nothing is on record" in farm.run("feet", "--from", "2026-04-01", "--to", "2026-04-30")


def test_without_a_store_the_commands_say_so(tmp_path: Path, capsys) -> None:
    for words in (["due"], ["mating"], ["treatments"], ["feet"], ["mating", "ready"]):
        assert run(["--store", str(tmp_path / "none.db"), *words]) == ExitStatus.FAILED
        assert "There is no store" in capsys.readouterr().err
