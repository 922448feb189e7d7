"""Keeping calendar secrets out of the logs."""

import logging
import re

SECRET_PATH = re.compile(r"(/(?:calendar|of)/)[^/\s\"']+")


class HideCalendarTokens(logging.Filter):
    """Cuts the secret out of any logged path, before it is written anywhere."""

    def filter(self, record: logging.LogRecord) -> bool:
        message = record.getMessage()
        hidden = SECRET_PATH.sub(r"\1…", message)
        if hidden != message:
            record.msg, record.args = hidden, ()
            # Handlers that mail the request along would tell its path.
            record.__dict__.pop("request", None)
        return True
