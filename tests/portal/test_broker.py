"""The broker made of files: each message once, in order, and never half of one."""

import threading
from queue import Empty

import pytest
from kombu import Connection

from portal.broker import folder_broker

QUEUE = "celery"


@pytest.fixture
def connect(tmp_path):
    def _connect():
        address, options = folder_broker(tmp_path)
        return Connection(address, transport_options=options)

    return _connect


def _take_all(channel):
    taken = []
    while True:
        try:
            taken.append(channel._get(QUEUE)["body"])
        except Empty:
            return taken


def test_messages_come_in_the_order_they_were_put(connect):
    with connect() as connection:
        channel = connection.default_channel
        for number in range(20):
            channel._put(QUEUE, {"body": number})

        assert channel._size(QUEUE) == 20
        assert _take_all(channel) == list(range(20))
        assert channel._size(QUEUE) == 0


def test_a_message_outlives_the_process_that_put_it(connect):
    with connect() as connection:
        connection.default_channel._put(QUEUE, {"body": "kept"})

    with connect() as connection:
        assert _take_all(connection.default_channel) == ["kept"]


def test_a_queue_takes_only_its_own_messages(connect):
    with connect() as connection:
        channel = connection.default_channel
        channel._put("other", {"body": "for another"})
        channel._put("not.celery", {"body": "for a name that ends alike"})

        with pytest.raises(Empty):
            channel._get(QUEUE)


def test_a_message_that_is_still_being_written_is_not_taken(connect, tmp_path):
    with connect() as connection:
        channel = connection.default_channel
        (tmp_path / "messages" / f".00000000000000000001_half.{QUEUE}.msg").write_text('{"bo')

        assert _take_all(channel) == []


def test_many_workers_take_each_message_once(connect):
    with connect() as connection:
        for number in range(200):
            connection.default_channel._put(QUEUE, {"body": number})
    taken = []

    def work():
        with connect() as connection:
            taken.extend(_take_all(connection.channel()))

    workers = [threading.Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()

    assert sorted(taken) == list(range(200))
