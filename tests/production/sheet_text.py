"""What stands on a station's sheet, as lines that a person can proof-read: read from the page that a tablet is sent."""

import re

from tests.read_page import read_page


def words(element):
    """All text within an element, its spaces tidied."""
    return " ".join("".join(element.itertext()).split())


def root_of(html):
    """The page without its drawings, whose many marks say nothing and take long to read."""
    return read_page(re.sub(r"<svg\b.*?</svg>", "", html, flags=re.DOTALL))


def having(root, css_class):
    return [each for each in root.iter() if css_class in each.get("class", "").split()]


def first(root, css_class):
    return next(iter(having(root, css_class)), None)


def figures_on(root):
    """The large figures, one a line: name, value, unit with tolerance or note."""
    (listed,) = having(root, "figures")
    for figure in having(listed, "figure"):
        name, value = words(figure.find("dt")), words(next(figure.iter("b")))
        yield f"{name:16} {value:>7} {words(first(figure, 'figure-note'))}".rstrip()


def steps_on(root):
    """The steps in order: number, kind, words with what is right; each caution below its step."""
    (listed,) = having(root, "bench-steps")
    for place, step in enumerate(having(listed, "step"), 1):
        text = first(step, "say") if step.get("data-kind") in ("tick", "safety", "acknowledge") else None
        if text is None:
            text = first(step, "step-text")
        yield f"{place:2} {step.get('data-kind'):8} {words(text)}{_right(step)}"
        for caution in having(step, "caution"):
            yield f"{'!':>12} {words(caution)}"


def _right(step):
    """What a count or a measure must come to, as the tablet would say it at once."""
    verdicts = {each.get("data-verdict"): each for each in step.iter("template")}
    if (right := verdicts.get("right")) is not None:
        return f" [{right.get('data-from')}]"
    if (within := verdicts.get("within")) is not None:
        band = re.search(r"Within: ([^,]*) mm", words(within))[1]
        holds = any("data-holds" in each.attrib for each in verdicts.values())
        return f" [{band} mm{'' if holds else ', but if it is off no fault'}]"
    return ""


def rule_on(root):
    """The market's rule as it stands beside the safety steps, or nothing."""
    rule = first(root, "market-rule")
    return [words(each) for each in rule if words(each) != "Every rule in force"] if rule is not None else []


def refusals_on(root):
    """Why a line can't be made, as the order desk says it."""
    return [words(each) for each in root.iter("p") if words(each).startswith("Can't be made:")]
