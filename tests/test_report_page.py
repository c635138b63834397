"""The page of a session: valid, self-contained, true to the record, readable without colour, and quick to make."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import html5lib
import pytest

from assistant.cli.main import ExitStatus, run
from assistant.records.records_out import session_report
from assistant.report.foot_plan import foot_lines, foot_plan, in_words
from assistant.report.page import minutes_text, page
from assistant.report.plot import Series, plot
from assistant.store.sound_file import decoded
from assistant.store.store import Store
from assistant.values import ActionPart, FindingPart, Grade
from tests.bench.records_out import fill
from tests.live_stage import ANIMALS, Stage
from tests.records_stage import filled


@pytest.fixture(scope="module")
def stage(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    made = filled(tmp_path_factory.mktemp("herd"))
    yield made
    made.store.close()


def html(stage: Stage, key: str | None = None, **options: bool) -> str:
    return page(session_report(stage.store, "Hedge End", key, **options))


def text_of(markup: str) -> str:
    """What a reader sees: the words of the page without its marks, spaces made single."""

    class Words(HTMLParser):
        held: list[str]

        def handle_data(self, data: str) -> None:
            self.held.append(data)

    words = Words()
    words.held = []
    words.feed(re.sub(r"<(style|svg).*?</\1>", " ", markup, flags=re.S))
    return " ".join(" ".join(words.held).split())


def test_the_page_is_valid_html(stage) -> None:
    """html5lib in strict mode refuses what the HTML standard calls a parse error."""
    html5lib.HTMLParser(strict=True).parse(html(stage, with_sound=True))


def test_the_page_needs_nothing_from_outside(stage) -> None:
    made = html(stage, with_sound=True)
    targets = re.findall(r"""(?:src|href|url)\s*[=(]\s*["']?([^"')\s>]+)""", made)
    assert targets
    assert all(target.startswith(("#", "data:")) for target in targets)
    assert "http" not in made


def test_the_page_says_what_the_session_came_to(stage) -> None:
    told = text_of(html(stage))
    for words in (
        "Hedge End: handling session of 2026-09-15",
        "2026-09-29 Tansy: re-check",
        "No day set Sorrel: vet",
        "Sorrel (411): skipped: heavily pregnant",
        "Yarrow (423): came to the table, was not closed as done",
        "condition 2.5 , withdrawn",
        "Rowan (",
        "2026-07-21: left hind: hollow wall, cut out; condition 2.5",
        "Do not tip or turn over an animal that is heavily in kid",
    ):
        assert words in told, words


def test_earlier_sessions_are_told_without_what_came_later(stage) -> None:
    told = text_of(html(stage, "s1"))
    assert "2026-07-21" not in told
    assert "abscess" not in told


def test_headings_go_down_one_step_at_a_time_and_every_picture_has_words(stage) -> None:
    made = html(stage)
    levels = [int(level) for level in re.findall(r"<h(\d)", made)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    for picture in re.findall(r"<svg.*?</svg>", made, flags=re.S):
        assert 'role="img"' in picture
        assert re.search(r"<title>[^<]+</title><desc>[^<]+</desc>", picture)
    assert '<html lang="en">' in made


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("nth", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("name", ["ink", "pale", "link"])
def test_words_stand_out_from_the_paper(stage, nth, name) -> None:
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    colours = [dict(re.findall(r"--(\w+): (#\w{6})", line)) for line in html(stage).splitlines() if "--ink" in line]
    a, b = sorted((luminance(colours[nth][name]), luminance(colours[nth]["paper"])), reverse=True)
    assert (a + 0.05) / (b + 0.05) >= 4.5


def test_a_sound_is_in_the_page_only_if_asked_for(stage) -> None:
    assert "<audio" not in html(stage)
    sounds = re.findall(r'src="data:audio/flac;base64,([^"]+)"', html(stage, with_sound=True))
    assert sounds
    assert decoded(base64.b64decode(sounds[0]))[0].length_s == pytest.approx(2.0)


def test_a_sound_that_is_gone_is_named_and_the_rest_is_made(tmp_path) -> None:
    stage = filled(tmp_path / "herd")
    lost, *_ = sorted(stage.store.sounds.iterdir())
    lost.unlink()
    made = html(stage, with_sound=True)
    assert "Sounds that cannot be played" in made
    assert lost.name in made
    assert "<audio" in made
    stage.store.close()


def test_names_cannot_change_the_page(tmp_path) -> None:
    stage = filled(tmp_path / "herd")
    stage.store.save_animals([replace(ANIMALS[0], name="<script>alert(1)</script>&")])
    made = html(stage)
    assert "<script" not in made
    assert "&lt;script&gt;alert(1)&lt;/script&gt;&amp;" in made
    html5lib.HTMLParser(strict=True).parse(made)
    stage.store.close()


def test_a_session_without_animals_has_a_page(tmp_path) -> None:
    stage = Stage(tmp_path / "herd")
    told = text_of(html(stage))
    assert "No animal came to the table." in told
    assert "not ended" in told
    stage.store.close()


# ------------------------------------------------------------------------------------------------------- drawings

PARTS = (
    FindingPart("left hind", "abscess", "outer claw", Grade.SEVERE),
    ActionPart("left hind", "drained"),
    FindingPart("right fore", "sound"),
    FindingPart("left fore", "scald"),
)


def test_a_plan_claims_no_more_than_was_said() -> None:
    """A mark stands on a claw or in the gap only if the remark said so, or the finding lies there by nature."""
    assert [line.where for line in foot_lines(PARTS, "left hind")] == ["outer", "under"]
    assert [line.where for line in foot_lines(PARTS, "left fore")] == ["between"]
    assert [line.kind for line in foot_lines(PARTS, "left hind")] == ["found", "done"]


def test_a_plan_says_in_words_all_that_it_shows() -> None:
    assert in_words(PARTS) == (
        "Left fore: scald. Right fore: sound. Left hind: severe abscess (outer claw), drained. "
        "Right hind: not mentioned."
    )
    drawn = foot_plan(PARTS, "Feet of Tansy")
    assert drawn.count("stroke-dasharray") == 1
    assert (drawn.count('class="found"'), drawn.count('class="made"'), drawn.count('class="tick"')) == (2, 1, 1)


def test_the_outer_claw_is_on_the_outer_side() -> None:
    """A left foot is drawn left of the middle, and its outer claw at its left."""

    def mark_x(foot: str, claw: str) -> float:
        drawn = foot_plan([FindingPart(foot, "crack", claw)], "")
        return float(re.search(r'class="found" d="M([\d.]+)', drawn).group(1))

    assert mark_x("left hind", "outer claw") < mark_x("left hind", "inner claw") < 190
    assert 190 < mark_x("right hind", "inner claw") < mark_x("right hind", "outer claw")


@pytest.mark.parametrize("values", [(3.0,), (2.0, 2.0), (0.0, 0.0), (1.0, 5.0, 2.0, 8.0, 1.0, 3.0, 4.0)])
@pytest.mark.parametrize("is_count", [True, False])
def test_a_plot_writes_its_values_and_stays_inside(values, is_count) -> None:
    days = [date(2026, 1, n + 1) for n in range(len(values))]
    drawn = plot(Series("Condition", tuple(zip(days, values, strict=True)), "", is_count))
    assert "nan" not in drawn
    for value in values[-6:]:
        assert f": {value:g}" in drawn
    for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", drawn):
        assert 0 <= float(x) <= 190
        assert 0 <= float(y) <= 84


@pytest.mark.parametrize(
    ("minutes", "words"), [(0.2, "under a minute"), (5.4, "5 min"), (59.7, "1 h 0 min"), (125, "2 h 5 min")]
)
def test_spans_are_told_as_keepers_say_them(minutes, words) -> None:
    assert minutes_text(minutes) == words


# -------------------------------------------------------------------------------------------------------- command


def test_the_command_writes_page_and_pdf(stage, tmp_path, capsys) -> None:
    words = ["--store", str(stage.store.path), "report", "s3", "--out", str(tmp_path / "out"), "--pdf"]
    assert run(words) == ExitStatus.OK
    made = [Path(line) for line in capsys.readouterr().out.splitlines()]
    assert [path.suffix for path in made] == [".html", ".pdf"]
    assert made[1].read_bytes().startswith(b"%PDF-")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(path.name for path in made)


def test_a_large_page_stays_small(tmp_path) -> None:
    """A season of 1,000 animals must stay under 10 MB: less than 8 kB for each (docs/measurements.md has the times)."""
    with Store.open(tmp_path / "herd.db") as store:
        fill(store, 60)
        made = page(session_report(store, "Hedge End"))
        assert made.count("<article") == 60
        assert len(made.encode()) < 60 * 8000


def test_the_page_has_what_the_holding_has_before_it(stage, tmp_path) -> None:
    assert run(["--store", str(stage.store.path), "report", "s3", "--out", str(tmp_path)]) == ExitStatus.OK
    (made,) = tmp_path.iterdir()
    assert "Feet due within four weeks" in text_of(made.read_text(encoding="utf-8"))


def test_a_folder_that_cannot_be_made_is_one_sentence(stage, tmp_path, capsys) -> None:
    (tmp_path / "file").write_text("")
    assert run(["--store", str(stage.store.path), "report", "--out", str(tmp_path / "file" / "x")]) == ExitStatus.FAILED
    assert "cannot be written" in capsys.readouterr().err
