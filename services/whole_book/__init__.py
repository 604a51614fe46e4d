"""Takes the whole book out: as tables, papers, cards and maps in one ZIP with a manifest."""

from services.whole_book.making import (
    ask,
    file_of,
    remove,
    run_export,
    sweep_exports,
)

__all__ = ["ask", "file_of", "remove", "run_export", "sweep_exports"]
