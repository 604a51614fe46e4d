"""Every piece of work waits in the queue of its kind, and each queue has somebody who takes."""

import re
from contextlib import ExitStack
from pathlib import Path

import pytest
import yaml

from services.project.celery import app
from services.queues import QUEUES, ROUTES

COMPOSE = Path(__file__).resolve().parents[2] / "docker" / "compose.postgres.yaml"


def tasks():
    app.loader.import_default_modules()
    return {name for name in app.tasks if name.startswith("services.")}


def queue_of(task, **options):
    return app.amqp.router.route(options, task)["queue"].name


def test_every_task_has_a_queue_and_every_queue_a_task():
    assert tasks() == set(ROUTES)
    assert {route["queue"] for route in ROUTES.values()} == set(QUEUES)


@pytest.mark.parametrize(
    ("task", "queue"),
    [
        ("sweep_outbox", "short"),
        ("deliver_outbox", "outside"),
        ("fetch_forecast", "outside"),
        ("run_planning", "heavy"),
        ("make_package", "heavy"),
        ("run_bringing", "heavy"),
        ("run_export", "heavy"),
        ("check_book", "heavy"),
    ],
)
def test_work_goes_where_its_kind_waits(task, queue):
    assert queue_of(f"services.tasks.{task}") == queue


@pytest.mark.servers
@pytest.mark.usefixtures("broker_alone")
def test_a_message_that_is_sent_by_name_lies_in_its_queue_alone():
    sent = {
        "services.tasks.run_planning": "heavy",
        "services.tasks.deliver_outbox": "outside",
        "services.tasks.sweep_outbox": "short",
    }
    with app.connection_for_write() as connection, ExitStack() as opened:
        lying = {
            name: opened.enter_context(connection.SimpleQueue(app.amqp.queues[name]))
            for name in QUEUES
        }
        for task, queue in sent.items():
            for waiting in lying.values():
                waiting.clear()
            app.send_task(task, [4711])
            message = lying[queue].get(timeout=10)
            message.ack()

            assert message.headers["task"] == task
            assert [len(waiting) for waiting in lying.values()] == [0, 0, 0]


def test_every_queue_is_reached_by_its_own_name():
    keys = {queue.routing_key for queue in app.amqp.queues.values()}

    assert keys == set(QUEUES)


def test_a_sign_of_life_goes_through_every_queue():
    entries = app.conf.beat_schedule.values()
    beats = [each for each in entries if each["task"] == "services.tasks.beat_pulse"]

    through = [queue_of(each["task"], queue=each["options"]["queue"]) for each in beats]
    assert sorted(through) == sorted(QUEUES)
    assert [each["args"] for each in beats] == [[each["options"]["queue"]] for each in beats]


def test_queues_outlive_the_broker():
    assert all(queue.durable for queue in app.amqp.queues.values())
    assert set(app.amqp.queues) == set(QUEUES)


def test_the_containers_take_from_every_queue():
    commands = [" ".join(part.get("command", [])) for part in services().values()]
    taken = [queue for each in commands for queue in queues_in(each)]

    assert sorted(taken) == sorted(QUEUES)


def services():
    return yaml.safe_load(COMPOSE.read_text())["services"]


def queues_in(command):
    told = re.search(r"--queues=(\S+)", command)
    return told[1].split(",") if told else []
