"""Several calls at the same moment."""

import threading

from django.db import connections

from production.record import Refused


def at_once(*calls):
    """Run the calls on threads of their own, started together; what each returned or raised, in order."""
    gate, answers = threading.Barrier(len(calls)), [None] * len(calls)

    def run(place, call):
        gate.wait()
        try:
            answers[place] = call()
        except Refused as refused:
            answers[place] = refused
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=found) for found in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers
