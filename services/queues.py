"""Which work waits in which queue, so that no mail waits behind a plan of the whole year.

Without a broker one worker takes from all of them.  With one, each can have workers of its own.
"""

SHORT = "short"  # what looks into the book and rings for others: a moment each
OUTSIDE = "outside"  # what waits for others' servers: mail, calls, forecasts
HEAVY = "heavy"  # what keeps a processor busy: plans, papers, files brought, exports, checks
QUEUES = (SHORT, OUTSIDE, HEAVY)

WORK = {
    SHORT: [
        "beat_pulse",
        "keep_checkpoint",
        "queue_digests",
        "sweep_bringings",
        "sweep_exports",
        "sweep_forecasts",
        "sweep_outbox",
        "sweep_packages",
        "sweep_plannings",
    ],
    OUTSIDE: ["deliver_outbox", "fetch_forecast", "find_cell"],
    HEAVY: ["back_up", "check_book", "make_package", "run_bringing", "run_export", "run_planning"],
}
ROUTES = {
    f"services.tasks.{name}": {"queue": queue} for queue, names in WORK.items() for name in names
}
