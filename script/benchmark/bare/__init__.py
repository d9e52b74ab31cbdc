"""The floor of a web page: a project as `django-admin startproject` makes it, with its default middleware, in which
people sign in. A view puts one question to the database and renders its template, or writes two rows."""
