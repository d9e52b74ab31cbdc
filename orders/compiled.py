"""Questions that pages put many times a second, worked out once instead of each time."""

from weakref import WeakKeyDictionary

from django.db import DEFAULT_DB_ALIAS, connections


class Compiled:
    """A question to the database as a function of the values that it looks for.

    Django works out the SQL of a queryset anew each time, which takes longer than the answer. Here that is done once
    for each connection. `ask` makes the queryset; its values are whole numbers and texts, and all that its SQL is
    given, in their order. Raises TypeError for any other.
    """

    def __init__(self, ask):
        self._ask, self._known = ask, WeakKeyDictionary()

    def __call__(self, *values):
        """What is found, as a list."""
        connection = connections[DEFAULT_DB_ALIAS]
        if not all(isinstance(value, int | str) for value in values):
            raise TypeError(f"{values} are not whole numbers and texts alone.")
        if connection not in self._known:
            self._known[connection] = self._compiled(values)
        queryset, compiler, sql = self._known[connection]
        compiler.as_sql = lambda *_args, **_kwargs: (sql, values)
        return list(queryset.all())

    def _compiled(self, values):
        # None like another, so that each is seen to stand in its place.
        tried = tuple(type(value)(number) for number, value in enumerate(values, 1))
        queryset = self._ask(*tried).using(DEFAULT_DB_ALIAS)
        compiler = queryset.query.get_compiler(DEFAULT_DB_ALIAS)
        sql, given = compiler.as_sql()
        if tuple(given) != tried:
            raise TypeError(f"{sql} is given {given}, not {tried} alone.")
        converters = compiler.get_converters([column for column, *_ in compiler.select[: compiler.col_count]])
        compiler.get_converters = lambda _columns: converters
        # A queryset's copies share what stands in its query.
        queryset.query.get_compiler = lambda *_args, **_kwargs: compiler
        return queryset, compiler, sql
