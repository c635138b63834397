"""The register at the screen: find, add and change animals, mark what became of them, bring in a file after a look."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from assistant.errors import AssistantError
from assistant.records.registering import DEAD, FIELDS, IN_HERD, SOLD, Preview, Registering, shown
from assistant.register.heading import spoken
from assistant.screens import keys
from assistant.screens.choosing import Choice, narrowed
from assistant.screens.face import asking
from assistant.screens.keys import Key, Keyline
from assistant.screens.lines import Line, Lines, column, short
from assistant.screens.listing import Listing
from assistant.screens.over import Over
from assistant.screens.palette import FOUND, SOUND, WITHDRAWN
from assistant.values import Animal

_STATUS_MARK = {IN_HERD: " ", SOLD: "→", DEAD: WITHDRAWN}


class RegisterScreen(Listing):
    """The animals of a holding.

    Args:
        registering: the register.
    """

    CSS = """
    RegisterScreen #find { height: 1; border: none; padding: 0 1; background: $surface; }
    """
    TABLE = (
        Key("slash,f", "find", "Find by name, number, tag or group", "find"),
        Key("down", "to_list", "From the search to the list"),
        Key("escape", "all", "Show all again"),
        Key("n,insert", "add", "Add an animal", "add"),
        Key("e,enter", "edit", "Change a particular", "change"),
        Key("s", "mark('sold')", "Mark as sold", "sold"),
        Key("x", "mark('dead')", "Mark as dead", "dead"),
        Key("h", "mark('in herd')", "Mark as in the herd"),
        Key("k", "in_kid", "In kid or in lamb: due when", "in kid"),
        Key("m", "milk", "In milk, or dry"),
        Key("i", "bring_in", "Bring in a file, after a preview", "bring in"),
        keys.BESIDE,
        keys.ALL_KEYS,
        keys.LEAVE,
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)

    def __init__(self, registering: Registering) -> None:
        super().__init__()
        self.registering = registering
        self._typed = ""
        self._choices: list[Choice] = []
        self._n_here = 0

    def above(self) -> Iterable[Widget]:
        """The line that the list is narrowed by."""
        yield Input(placeholder="/ finds: name, number, tag or group; Enter goes to the list, Esc shows all", id="find")

    def on_mount(self) -> None:
        """Shows all animals."""
        self.lines.focus()
        self.refresh_list(0)

    # ------------------------------------------------------------------------------------------------------ showing

    def refresh_list(self, at: str | int = "") -> None:
        """Shows the animals as they are now."""
        animals = list(self.registering.register)
        self._choices = [
            Choice(one.id, one.label, f"{one.number} {one.tag} {one.group} {one.status}") for one in animals
        ]
        self._n_here = sum(animal.status == IN_HERD for animal in animals)
        self._narrow(at)

    def _narrow(self, at: str | int) -> None:
        """Shows those that fit what is typed."""
        keys = [choice.key for choice in narrowed(self._choices, self._typed)]
        self.lines.show(keys, self._line, at)
        found = f"   {len(keys)} found" if self._typed else ""
        counted = f"{self._n_here} in the herd, {len(self._choices)} in all{found}"
        self.head(Content.assemble(("Register  ", "bold"), counted))

    def _line(self, key: str) -> Line:
        animal = self._animal(key)
        if animal is None:
            return Line(key, ((key, "quiet"),))
        tone = "plain" if animal.status == IN_HERD else "quiet"
        number = animal.number if animal.number != animal.label else ""
        due = f" due {animal.due:%d %b}" if animal.due else ""
        away = f" {animal.status}" if animal.status != IN_HERD else ""
        mark = _STATUS_MARK.get(animal.status, " ")
        return Line(
            key,
            (
                (f"{mark} {column(short(animal.label), 16)} ", tone),
                (f"{column(number, 6)} {animal.group}", "quiet"),
                (due, "asking"),
                (away, "quiet"),
            ),
        )

    def _animal(self, key: str) -> Animal | None:
        return self.registering.register.animal(key)

    def detail(self, key: str) -> Content:
        """The particulars of an animal."""
        animal = self._animal(key)
        return _particulars(animal) if animal else Content("No animal; n adds one.")

    @property
    def animal(self) -> Animal | None:
        """The animal under the cursor."""
        return self._animal(self.lines.key)

    # ------------------------------------------------------------------------------------------------------- finding

    def action_find(self) -> None:
        """To the line that the list is narrowed by."""
        self.query_one("#find", Input).focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """The list narrows."""
        self._typed = event.value
        self._narrow(0)

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """On to the list."""
        self.action_to_list()

    def action_to_list(self) -> None:
        """From the line that is typed to what it found."""
        self.lines.focus()

    def action_all(self) -> None:
        """Shows all animals again, the cursor where it was."""
        key = self.lines.key
        with self.prevent(Input.Changed):
            self.query_one("#find", Input).value = ""
        self._typed = ""
        self.lines.focus()
        self.refresh_list(key)

    # ------------------------------------------------------------------------------------------------------ changing

    def on_lines_chosen(self, _: Lines.Chosen) -> None:
        """Enter changes a particular."""
        self.action_edit()

    def _change(self, animal: Animal, field: str, text: str, told: str) -> None:
        try:
            odd = self.registering.change(animal, field, text)
        except AssistantError as error:
            self.tell(str(error))
            return
        self.refresh_list(animal.id)
        self.tell(f"{told} {odd}".strip())

    @asking
    async def action_edit(self) -> None:
        """Chooses a particular and types it."""
        animal = self.animal
        if animal is None:
            return
        choices = [Choice(field, spoken(field).capitalize(), shown(animal, field)) for field in FIELDS]
        field = await self.choosing.ask(f"What of {short(animal.label)}?", choices)
        if field is None:
            return
        title = f"{spoken(field).capitalize()} of {short(animal.label)}; nothing takes it away:"
        text = await self.typing.ask(title, shown(animal, field), may_be_empty=True)
        if text is not None:
            self._change(animal, field, text, f"{spoken(field).capitalize()} changed.")

    @asking
    async def action_add(self) -> None:
        """Adds an animal; its particulars are changed as those of any other."""
        text = await self.typing.ask("Name or number of the new animal:")
        if text is None:
            return
        try:
            animal = self.registering.add(text)
        except AssistantError as error:
            self.tell(str(error))
            return
        self.action_all()
        self.refresh_list(animal.id)
        self.tell(f"{animal.label} is added; e changes the rest.")

    def action_mark(self, status: str) -> None:
        """Marks what became of the animal."""
        if (animal := self.animal) is not None:
            self._change(animal, "status", status, f"{animal.label}: {status}.")

    @asking
    async def action_in_kid(self) -> None:
        """Types when an animal is due; nothing says that it is not in kid."""
        animal = self.animal
        if animal is None:
            return
        title = (
            f"When is {short(animal.label)} due? A date such as 2027-03-14; nothing if she is not in kid or in lamb:"
        )
        text = await self.typing.ask(title, shown(animal, "due"), may_be_empty=True)
        if text is not None:
            told = f"due {text.strip()}" if text.strip() else "not in kid"
            self._change(animal, "due", text, f"{animal.label}: {told}.")

    def action_milk(self) -> None:
        """In milk, or dry."""
        if (animal := self.animal) is not None:
            told = f"{animal.label}: {'dry' if animal.in_milk else 'in milk'}."
            self._change(animal, "in_milk", "no" if animal.in_milk else "yes", told)

    @asking
    async def action_bring_in(self) -> None:
        """Reads a file, shows what it would change, and brings it in if that is wanted."""
        file = await self.typing.ask("Which file (CSV, XLSX)?", "", _no_file)
        if file is None:
            return
        try:
            preview = self.registering.preview(Path(file.strip()).expanduser())
            if await self.app.push_screen_wait(Previewing(file.strip(), preview)):
                n = self.registering.take(preview)
                self.action_all()
                self.tell(f"{n} animals are new or changed.")
            else:
                self.tell("Nothing was brought in.")
        except AssistantError as error:
            self.tell(str(error))


def _no_file(text: str) -> str | None:
    try:
        is_file = Path(text.strip()).expanduser().is_file()
    except (OSError, RuntimeError):  # too long a name, a folder of somebody else, a home that is not there
        is_file = False
    return None if is_file else "There is no such file."


def _particulars(animal: Animal) -> Content:
    rows = [Content(animal.label).stylize("bold")]
    for field in FIELDS:
        if value := shown(animal, field):
            rows.append(Content.assemble((f"{spoken(field):<12} ", "$muted"), value))
    former = ", ".join(tag.code for tag in animal.past_tags)
    if former:
        rows.append(Content.assemble((f"{'former tags':<12} ", "$muted"), former))
    return Content("\n").join(rows)


class Previewing(Over[bool]):
    """What a file would change, row by row; gives whether it is to be brought in."""

    TABLE = (
        Key("y,b", "answer(True)", "Bring it in", "brings it in"),
        Key("n,escape,q", "answer(False)", "Leave the register as it is", "leaves the register as it is"),
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)
    CSS = "Previewing .sheet { width: 96%; }"

    def __init__(self, file: str, preview: Preview) -> None:
        super().__init__()
        self._file, self._preview = file, preview

    def compose(self) -> ComposeResult:
        """How many, then each."""
        report = self._preview.report
        same = len(report.animals) - len(report.new) - len(report.changed)
        with Vertical(classes="sheet"):
            yield Static(Content(f"{self._file}: what will change").stylize("bold"))
            yield Static(
                f"{len(report.new)} new, {len(report.changed)} changed, {same} as before, "
                f"{len(report.problems)} problems; dates {report.dates}"
            )
            yield Lines()
            yield Keyline(self.TABLE)

    def on_mount(self) -> None:
        """Fills the list."""
        steps = self._preview.steps
        lines = self.query_one(Lines)
        lines.styles.height = max(1, len(steps))
        self.fit()
        lines.show([str(n) for n in range(len(steps))], self._line)
        lines.focus()

    def _line(self, key: str) -> Line:
        step = self._preview.steps[int(key)]
        is_good = step.what in ("new", "changed")
        mark = SOUND if is_good else FOUND
        words = " ".join(filter(None, (step.animal, step.detail)))
        told = f"line {step.line}: {step.what} {words}"
        return Line(key, ((f"{mark} ", "good" if is_good else "found"), (told, "plain")))

    def action_answer(self, is_wanted: bool) -> None:
        """Brings it in, or not."""
        self.dismiss(is_wanted)
