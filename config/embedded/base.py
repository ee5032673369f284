"""Django's PostgreSQL backend, which starts the embedded server at the first connection.

Lazily, so that commands and linters that only read the settings start nothing.
"""

from pathlib import Path
from typing import Any

from django.db.backends.postgresql import base
from django.db.utils import OperationalError

from config.embedded.cluster import Cluster
from config.embedded.errors import EmbeddedError
from config.embedded.members import join


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection to the server in ``EMBEDDED["FOLDER"]`` of the database settings."""

    def get_connection_params(self) -> dict[str, Any]:
        """Return the parameters for psycopg, once the server is up; join those who use it."""
        embedded = self.settings_dict["EMBEDDED"]
        cluster = Cluster(Path(embedded["FOLDER"]), durable=embedded["DURABLE"])
        try:
            place = join(cluster)
        except EmbeddedError as error:
            raise OperationalError(str(error)) from error
        return {**super().get_connection_params(), **place}
