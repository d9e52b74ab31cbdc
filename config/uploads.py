"""What is done with a file while it is still coming in."""

from django.core.files.uploadhandler import FileUploadHandler

MOST_BYTES = 6_000_000
"""A little more than any form takes, so that the form still sees that it is too large, and says so."""


class NoMoreThanIsRead(FileUploadHandler):
    """Lets the rest of a file go by that is larger than any form takes, so that it fills no disk."""

    def receive_data_chunk(self, raw_data, start):
        return raw_data if start < MOST_BYTES else None

    def file_complete(self, file_size):
        return None
