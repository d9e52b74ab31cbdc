"""500 labels in one PDF, beside WeasyPrint alone on the same finished HTML.

Ours: from the database to the PDF, a rail label and a pack label for each of 250 blinds. Floor: the HTML that ours
made, laid out and written by WeasyPrint with the same face, loaded beforehand. Of the processor's time, one process.
"""

import json
import os
import random
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
BLINDS, GOAL, ROUNDS = 250, 1.2, 5
PICK = random.Random(38)  # noqa: S311 - no secret


def figures() -> list[dict]:
    """In a process of its own, on an empty database of its own."""
    with tempfile.TemporaryDirectory() as folder:
        there = os.environ | {"DATABASE_URL": f"sqlite:///{folder}/labels.sqlite3", "DEBUG": "1"}
        command = [sys.executable, "-m", "script.benchmark.labels", "--json"]
        done = subprocess.run(command, cwd=ROOT, env=there, check=True, stdout=subprocess.PIPE)  # noqa: S603 - our own
    return json.loads(done.stdout)


def _measured():
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from production import labels
    from production.models import Blind
    from script.benchmark.rounds import figure, in_turns

    call_command("migrate", verbosity=0)
    _release()
    blinds, at = Blind.objects.all(), timezone.now()
    kept = _html_of(labels, lambda: labels.labels_pdf(blinds=blinds, at=at))
    found = in_turns(
        {"ours": lambda: labels.labels_pdf(blinds=blinds, at=at), "floor": lambda: _alone(labels, kept)}, rounds=ROUNDS
    )
    return [
        figure(
            work=f"{2 * BLINDS} labels in one PDF",
            ours=[each.processor for each in found["ours"]],
            floor=[each.processor for each in found["floor"]],
            unit="s",
            goal=GOAL,
        )
    ]


def _release():
    """An order of varied blinds, released."""
    from tests import factories

    rooms = ("Kitchen", "Bedroom", "Bath", "Office", "Hall", "Study", "Ward", "Bay")
    lines = [
        {
            "room": f"{PICK.choice(rooms)} {number}",
            "quantity": 5,
            "width_mm": PICK.randint(600, 3000),
            "drop_mm": PICK.randint(800, 2400),
            "draw": PICK.choice(["one_way", "split"]),
            "hand": PICK.choice(["left", "right"]),
            "operation": PICK.choice(["cord_chain", "cord_chain", "wand"]),
        }
        for number in range(BLINDS // 5)
    ]
    factories.released(lines=lines)


def _html_of(labels, work):
    """The pages of HTML that `work` lays out."""
    kept, plain = [], labels.HTML

    def noted(*, string, **options):
        kept.append(string)
        return plain(string=string, **options)

    labels.HTML = noted
    try:
        pdf = work()
    finally:
        labels.HTML = plain
    if not kept or not pdf.startswith(b"%PDF") or sum(page.count('class="label') for page in kept) != 2 * BLINDS:
        raise SystemExit(f"{2 * BLINDS} labels were to be laid out.")
    return kept


def _alone(labels, pages):
    from weasyprint import HTML

    face, fonts = labels._face()
    documents = [HTML(string=page).render(stylesheets=[face], font_config=fonts) for page in pages]
    return documents[0].copy([page for document in documents for page in document.pages]).write_pdf()


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    print(json.dumps(_measured() if "--json" in sys.argv else figures(), indent=1))
