"""Making a new engine record by question and answer: the conversation itself, without any terminal.

Whoever talks to the builder shows `Conversation.question`, hands each typed line to `say`, shows its reply, and saves
after each (`save_part`), so that nothing typed is lost; when no question is left, `write_new` writes the record.
"""

import os
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import tomlkit

from scribeline.engine import EngineRecord, write_record
from scribeline.engine.possible import Impossible, impossibilities
from scribeline.engine.salvage import validated
from scribeline.errors import Problem, RecordError, TypedValueError
from scribeline.tasks.new_questions import Question, Standing, standing
from scribeline.tasks.new_wording import RELATED

COMMANDS = """\
Enter    does what the question says, or keeps the answer you took back
?        explains more
<        goes back to the question before; `< bore` goes back to the last one about the bore
-        leaves it out, where an answer you took back is offered
>        leaves out the rest of this part
Ctrl-C   stops; everything typed so far is kept"""


@dataclass
class Conversation:
    """Questions and answers about one engine.

    answers : what was typed, by place; "" where a question was left empty
    earlier : answers that were taken back, by place; offered when their question comes up again

    >>> conversation = Conversation({"name": "Barn find", "note": "", "speed_rpm": "9000"})
    >>> conversation.question.place, conversation.say("2 in"), conversation.question.place
    ('crank.stroke_mm', '= 50.800 ± 0.050 mm', 'crank.rod_length_mm')
    """

    answers: dict[str, str] = field(default_factory=dict)
    earlier: dict[str, str] = field(default_factory=dict)
    _walked: Standing | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def question(self) -> Question | None:
        """The question that comes next; None when all are answered and the record is sound."""
        return self._standing.next

    @property
    def offered(self) -> str | None:
        """The answer to this question that was taken back, and that Enter keeps."""
        return self.earlier.get(self.question.place) if self.question else None

    def record(self) -> EngineRecord:
        """The finished record; raises RecordError while it is not finished."""
        if self.question is not None:
            raise RecordError([Problem(self.question.place, None, "nothing", self.question.kind.accepts, "answer it")])
        return validated(self._standing.engine)

    def say(self, line: str) -> str:
        """Take one typed line, an answer or a command (see COMMANDS); returns what to reply, often nothing."""
        question, typed = self.question, line.strip()
        if question is None:
            return "There is nothing left to ask."
        if any(0xD800 <= ord(character) < 0xE000 for character in typed):
            return "That is no text that can be kept: type it again."
        if typed == "?":
            return more_about(question)
        if typed.startswith("<"):
            return self._back(typed[1:].strip())
        if typed == ">":
            return self._leave_out_the_rest(question)
        if typed == "-":
            typed = ""
        elif not typed:
            typed = self.offered or ""
        try:
            value = question.value(typed)
        except TypedValueError as refusal:
            return str(refusal)
        self._settle(question, typed)
        echo = question.kind.echo(value) if typed else ""
        return "\n".join(part for part in (f"= {echo}" if echo else "", self.check()) if part)

    @property
    def _standing(self) -> Standing:
        if self._walked is None:
            self._walked = standing(self.answers)
        return self._walked

    def _settle(self, question: Question, typed: str) -> None:
        self.answers[question.place] = typed
        self.earlier.pop(question.place, None)
        self._walked = None

    def _take_back(self, question: Question) -> None:
        self.earlier[question.place] = self.answers.pop(question.place)
        self._walked = None

    def _back(self, words: str) -> str:
        asked, wanted = self._standing.asked, words.lower()
        if wanted:
            called_so = [one for one in asked if one.label.lower() == wanted]
            asked = called_so or [one for one in asked if wanted in f"{one.progress} {one.label}".lower()]
        if not asked:
            return f"No question before this one is about “{words}”." if words else "This is the first question."
        self._take_back(asked[-1])
        return ""

    def _leave_out_the_rest(self, question: Question) -> str:
        if question.on_enter is None:
            return "This one is needed."
        part = question.place.rpartition(".")[0]
        following: Question | None = question
        while following is not None and following.on_enter is not None:
            self._settle(following, "")
            following = self.question
            if not part or following is None or not following.place.startswith(f"{part}."):
                break
        return self.check()

    def check(self) -> str:
        """When all is answered: say what cannot be true of any engine, and take its answers back to be asked again."""
        now = self._standing
        if now.next is not None:
            return ""
        findings = impossibilities(validated(now.engine))
        told = []
        for finding in findings:
            questions = _questions_about(finding, now.asked)
            for question in questions:
                if question.place in self.answers:
                    self._take_back(question)
            told.append(
                f"{questions[0].progress}: {questions[0].label} = {finding.value}\n"
                f"    accepted: {finding.accepted}\n    what to do: {finding.remedy}"
            )
        if told:
            told.append("These are asked again; Enter keeps what you typed, < goes back to others.")
        return "\n".join(told)


def more_about(question: Question) -> str:
    """What `?` answers."""
    accepted = f"Accepted: {question.kind.accepts}"
    return "\n\n".join(part for part in (question.about, accepted, question.kind.more, COMMANDS) if part)


def _questions_about(finding: Impossible, asked: list[Question]) -> list[Question]:
    """The questions whose answers a finding is about: of its place, else of the part around it."""
    place = ".".join(str(part + 1) if isinstance(part, int) else part for part in finding.location)
    related = [one for one in asked if f"{one.place}.".startswith(f"{RELATED.get(place)}.")][-1:]
    while place:
        found = [one for one in asked if f"{one.place}.".startswith(f"{place}.")]
        if found:
            return found + related
        place = place.rpartition(".")[0]
    return asked[-1:]


def part_of(path: Path) -> Path:
    """The file beside a record that keeps its answers until it is finished."""
    return path.with_name(path.name + ".part")


def refuse_unwritable(path: Path) -> None:
    """Raise RecordError before anything is asked where no record could be written."""
    if path.is_dir() or not path.parent.is_dir():
        problem = Problem("file", None, str(path), "a file name in a folder that is there", "choose another")
        raise RecordError([problem], str(path))


def save_part(conversation: Conversation, path: Path) -> None:
    """Keep everything typed so far beside the record to be made; a crash at any moment leaves the old or the new."""
    document = tomlkit.document()
    document.add(tomlkit.comment(f"Answers so far; `scribeline new {path.name}` goes on from here."))
    document.add("answers", conversation.answers)
    document.add("earlier", conversation.earlier)
    _write(part_of(path), tomlkit.dumps(document))


def load_part(path: Path) -> Conversation | None:
    """The conversation kept beside a record to be made, or None where there is none."""
    part = part_of(path)
    try:
        kept = tomllib.loads(part.read_text(encoding="utf-8"))
        halves = [kept["answers"], kept["earlier"]]
        if not all(isinstance(typed, str) for half in halves for typed in half.values()):
            raise ValueError("not answers")
        conversation = Conversation(*halves)
    except FileNotFoundError:
        return None  # nothing was begun
    except (OSError, ValueError, LookupError, AttributeError) as error:
        problem = Problem("file", None, str(part), "answers kept by an earlier go", "move it away, then start again")
        raise RecordError([problem], f"{part}: {error}") from None
    conversation.check()
    return conversation


def set_aside(path: Path) -> Path:
    """Rename the kept answers so that a new go does not overwrite them; returns the new name."""
    number = 1
    while (aside := path.with_name(f"{path.name}.part.{number}")).exists():
        number += 1
    part_of(path).rename(aside)
    return aside


def write_new(conversation: Conversation, path: Path, *, overwrite: bool) -> None:
    """Write the finished record, with comments, and drop the kept answers.

    A file that is there already is overwritten only where that is wanted; otherwise it raises RecordError.
    """
    text = write_record(conversation.record())
    if path.exists() and not overwrite:
        problem = Problem("file", None, str(path), "a name that is free", "answer y to overwrite it, or use another")
        raise RecordError([problem], str(path))
    _write(path, text)
    part_of(path).unlink(missing_ok=True)


def _write(path: Path, text: str) -> None:
    """Replace a file at once: whoever reads it sees all of it or nothing."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        try:
            with temporary.open("w", encoding="utf-8") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            temporary.replace(path)
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        problem = Problem("file", None, str(path), "a file that can be written", f"{error.strerror}: choose another")
        raise RecordError([problem], str(path)) from None
