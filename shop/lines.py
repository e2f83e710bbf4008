"""The log: one JSON object a line, with nothing in it about a person.

What a form or a row held may stand in the message of an exception, so that of most kinds only the kind is told, and
where in the program it came up. A slow query is told with its places for values, never with the values.
"""

import json
import logging
import os
import time
import traceback
from datetime import UTC, datetime
from typing import Any

from django.db import DatabaseError, DataError, IntegrityError, connection

log = logging.getLogger("shop")
SLOW_MS = int(os.environ.get("SHOP_SLOW_MS", "200"))
LONGEST = 600
# Their messages speak of the program or the machine, not of what somebody typed.
OPEN = (DatabaseError, ImportError, AttributeError, NameError, TypeError)
SHUT = (DataError, IntegrityError)


class Lines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        told: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "said": record.getMessage()[:LONGEST],
        }
        if isinstance(status := getattr(record, "status_code", None), int):
            told["status"] = status
        if isinstance(query := getattr(record, "query", None), dict):
            told |= query
        if record.exc_info and record.exc_info[1]:
            told |= _fault(record.exc_info[1])
        return json.dumps(told, ensure_ascii=False)


def _fault(error: BaseException) -> dict[str, Any]:
    told: dict[str, Any] = {"fault": type(error).__name__}
    if isinstance(error, OPEN) and not isinstance(error, SHUT):
        told["fault_said"] = str(error).partition("\n")[0][:200]
    elif isinstance(error, OSError):
        told["fault_said"] = error.strerror or ""
    frames = traceback.extract_tb(error.__traceback__)
    told["where"] = [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames[-12:]]
    return told


def slow_queries_are_named(get_response):
    """Each query of a request that takes long goes to the log, with the page it was for."""

    def middleware(request):
        def timed(execute, sql, params, many, context):
            began = time.perf_counter()
            try:
                return execute(sql, params, many, context)
            finally:
                spent = round((time.perf_counter() - began) * 1000)
                if spent >= SLOW_MS:
                    _tell(request, sql, spent)

        with connection.execute_wrapper(timed):
            return get_response(request)

    return middleware


def _tell(request, sql: str, spent: int) -> None:
    page = request.resolver_match.view_name if request.resolver_match else ""
    query = {"query": sql[:LONGEST], "ms": spent, "page": page}
    log.warning("slow query", extra={"query": query})
