"""The questions that an order raises, each with its line and the answer that somebody gave it, if any."""

from dataclasses import dataclass

from orders import slips
from orders.entered_again import entered_again
from orders.lines import constants_in_force
from orders.models import Order, OrderLine, SlipAnswer


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question about `line`, or about the order where that is None; `answer` says that it is right as it stands."""

    question: slips.Question
    line: OrderLine | None
    answer: SlipAnswer | None

    @property
    def message(self):
        return f"{self.where}: {self.question.message}" if self.line else self.question.message

    @property
    def where(self):
        return named(self.line)


def named(line):
    """What a line is called where it stands among others."""
    return f"Line {line.position} ({line.room})" if line.room else f"Line {line.position}"


def asked(*, order: Order, lines=None, systems=None):
    """Every question about `order` as it is stored, answered or not; four queries, however many lines.

    `lines` and `systems`, the constants in force by the system's key, save a query each where they are at hand.
    """
    lines = list(order.lines.in_order()) if lines is None else lines
    if systems is None:
        systems = constants_in_force()
    by_number = {line.position: line for line in lines}
    raised = slips.questions([sized(line, systems.get(line.system_id), number=line.position) for line in lines])
    if same := entered_again(order, lines):
        raised.append(same)
    answers = answers_of(order)
    return [
        Asked(question=each, line=by_number.get(each.number), answer=answers.get(answer_key(by_number, each)))
        for each in raised
    ]


def unanswered(*, order: Order):
    return [each for each in asked(order=order) if each.answer is None]


def answer_key(by_number, question):
    line = by_number.get(question.number)
    return (line.pk if line else None, question.code, question.figures)


def answers_of(order):
    """The answers given so far, by line, code and figures."""
    return {(each.line_id, each.code, each.figures): each for each in SlipAnswer.objects.of_order(order)}


def sized(line: OrderLine, system, *, number: int):
    """`line` as slips look at it, under the constants of its `system`, or None."""
    limits = {}
    if system:
        limits = {
            "least_mm": (system.min_width_mm, system.min_drop_mm),
            "most_mm": (system.max_width_mm, system.max_drop_mm),
        }
    return slips.Sized(
        number=number,
        room=line.room or "",
        size_basis=line.size_basis or "",
        width_mm=line.width_mm,
        drop_mm=line.drop_mm,
        **limits,
    )
