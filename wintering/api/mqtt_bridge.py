"""The connection to a broker: kept up, and never acknowledging what is not stored.

It speaks MQTT 5.0 at QoS 1 in a session that the broker keeps while the bridge is away.
Everything runs in one thread, so that no acknowledgement can slip into a connection
other than the one that brought its message.
"""

import logging
import math
import ssl
import threading
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Protocol

from paho.mqtt.client import (
    CallbackAPIVersion,
    Client,
    ConnectFlags,
    DisconnectFlags,
    MQTTErrorCode,
    MQTTMessage,
)
from paho.mqtt.enums import MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode
from paho.mqtt.subscribeoptions import SubscribeOptions

from wintering.api.mqtt import Message
from wintering.api.mqtt_address import Broker, Topics
from wintering.climate.services.heard import DELIVERIES_REMEMBERED

FOREVER_S = 0xFFFFFFFF  # a session that never ends: MQTT 5.0, section 3.1.2.11.2
KEEPALIVE_S = 60
SHORTEST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 60.0
IDLE_S, BUSY_S = 0.5, 0.05
# What waited at the broker comes as fast as it is taken; own choices of when that is
# over: fewer than so many messages in a second, at the latest after ten minutes.
_QUIET_MESSAGES, _QUIET_S, _LONGEST_BACKLOG_S = 10, 1.0, 600.0
_GOODBYE_LOOPS = 40  # two seconds for what must still be written

# Reasons that trying again will not mend: MQTT 5.0, section 2.4.
_FINAL = {
    0x84: "it does not speak MQTT 5.0",
    0x85: "it does not take the client ID",
    0x86: "user name or password are wrong",
    0x87: "it lets nobody in with this user name and password",
    0x8A: "it has banned this client",
    0x8C: "it wants another way of signing in",
    0x8E: "another bridge uses the same client ID; give this one its own --client-id",
}

log = logging.getLogger(__name__)


class BrokerRefuses(Exception):
    """Trying again is no use; a sentence says why."""


class Keeping(Protocol):
    """Where messages go: see mqtt_batches.Batches."""

    @property
    def is_empty(self) -> bool: ...
    def take(self, message: Message) -> None: ...
    def is_due(self) -> bool: ...
    def store(self) -> bool: ...
    def forget_deliveries(self) -> None: ...


class Bridge:
    """Listens until it is stopped."""

    def __init__(
        self,
        *,
        broker: Broker,
        topics: Sequence[Topics],
        client_id: str,
        heard_at: datetime | None,
        ca_file: Path | None = None,
    ) -> None:
        self._broker = broker
        self._topics = topics
        self._client = self._made_client(client_id, ca_file)
        self._stop = threading.Event()
        self._begin: Callable[[], Keeping] | None = None
        self._batches: Keeping | None = None
        self._refusal = ""
        self._is_answered = self._is_up = False
        self._connection = 0
        # the last instant at which nothing waited at the broker
        self._away_since_s = heard_at.timestamp() if heard_at else -math.inf
        self._backlog = _Backlog()
        self._pause_s = SHORTEST_PAUSE_S
        self._told: set[str] = set()
        self._told_unkept: set[str] = set()

    def stop(self) -> None:
        """End after what is in hand is stored; may be called from a signal handler."""
        self._stop.set()

    def acknowledge(self, message: Message) -> None:
        """Let the broker forget a message, over the connection that brought it."""
        if message.qos and self._is_up and message.connection == self._connection:
            self._client.ack(message.mid, message.qos)

    def run(self, begin: Callable[[], Keeping]) -> None:
        """Listen and store; BrokerRefuses where trying again is no use.

        begin  called once the broker has let us in: before, nothing is changed
        """
        self._begin = begin
        while not self._stop.is_set():
            try:
                if self._connect():
                    self._serve()
                if self._refusal:
                    raise BrokerRefuses(self._refusal)
                self._wait(self._pause_s)
                self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)
            finally:
                if self._stop.is_set() or self._refusal:
                    self._leave()

    def _made_client(self, client_id: str, ca_file: Path | None) -> Client:
        client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=client_id,
            protocol=MQTTProtocolVersion.MQTTv5,
            reconnect_on_failure=False,
            manual_ack=True,
        )
        if self._broker.user:
            client.username_pw_set(self._broker.user, self._broker.password)
        if self._broker.is_tls:
            client.tls_set_context(_trusting(ca_file))
        client.on_connect = self._on_connect
        client.on_subscribe = self._on_subscribe
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        return client

    def _connect(self) -> bool:
        self._is_answered = False
        properties = Properties(PacketTypes.CONNECT)
        properties.SessionExpiryInterval = FOREVER_S
        properties.ReceiveMaximum = DELIVERIES_REMEMBERED
        try:
            self._client.connect(
                self._broker.host,
                self._broker.port,
                KEEPALIVE_S,
                clean_start=False,
                properties=properties,
            )
        except ssl.SSLCertVerificationError as error:
            raise BrokerRefuses(
                f"The certificate of {self._broker} is not trusted "
                f"({error.verify_message}). Name its authority's file with --ca, and "
                "the host as the certificate does."
            ) from error
        except OSError as error:
            self._tell_away(f"cannot be reached ({error})")
            return False
        return True

    def _serve(self) -> None:
        """Take messages until the connection breaks or the bridge is stopped."""
        while not self._stop.is_set():
            is_idle = self._batches is None or self._batches.is_empty
            timeout_s = IDLE_S if is_idle else BUSY_S
            code = self._client.loop(timeout_s)
            if self._refusal or code != MQTTErrorCode.MQTT_ERR_SUCCESS:
                return
            self._store_if_due()
            if self._backlog.has_ended():
                log.info("What waited at the broker is taken; what comes now is new.")

    def _wait(self, pause_s: float) -> None:
        """Pause before connecting again; what is in hand is stored meanwhile."""
        until = time.monotonic() + pause_s
        while not self._stop.is_set() and (left_s := until - time.monotonic()) > 0:
            self._store_if_due()
            self._stop.wait(min(left_s, IDLE_S))

    def _store_if_due(self) -> None:
        if self._batches and self._batches.is_due():
            began_at = time.monotonic()
            self._batches.store()
            self._backlog.stood_still(time.monotonic() - began_at)

    def _leave(self) -> None:
        """Store what is in hand, then say goodbye; the broker keeps the session."""
        batches = self._batches
        if batches and not batches.is_empty and not batches.store():
            log.warning("What could not be stored stays at the broker.")
        self._client.disconnect()
        for _ in range(_GOODBYE_LOOPS):
            if self._client.loop(BUSY_S) != MQTTErrorCode.MQTT_ERR_SUCCESS:
                return

    def _tell_away(self, words: str) -> None:
        if words not in self._told:
            self._told.add(words)
            log.warning("The broker %s %s; trying on.", self._broker, words)

    def _on_connect(
        self,
        client: Client,
        _: object,
        flags: ConnectFlags,
        code: ReasonCode,
        __: object,
    ) -> None:
        self._is_answered = True
        if code.is_failure:
            why = _FINAL.get(code.value)
            if why:
                self._refusal = f"The broker {self._broker} refuses: {why}."
            else:
                self._tell_away(f"refuses for now ({code})")
            return
        self._is_up = True
        self._pause_s = SHORTEST_PAUSE_S
        self._connection += 1
        self._told.clear()
        away_s = time.time() - self._away_since_s
        self._backlog = _Backlog(away_s if flags.session_present else 0.0)
        if self._batches is None:
            assert self._begin is not None, "run was given it"
            self._batches = self._begin()
        if not flags.session_present:
            self._batches.forget_deliveries()
            log.info(
                "The broker %s begins to keep messages for this bridge.", self._broker
            )
        # What is retained comes once, when the session begins to listen to a topic.
        options = SubscribeOptions(qos=1, retainHandling=1)
        client.subscribe([(one.filter, options) for one in self._topics])

    def _on_subscribe(
        self,
        client: Client,
        _: object,
        mid: int,
        codes: Sequence[ReasonCode],
        __: object,
    ) -> None:
        for one, code in zip(self._topics, codes, strict=False):
            if code.is_failure:
                self._refusal = (
                    f"The broker {self._broker} does not let this bridge listen "
                    f"to {one.filter} ({code})."
                )
            elif code.value < 1:
                self._refusal = (
                    f"The broker {self._broker} keeps nothing of {one.filter}; it "
                    "must grant QoS 1."
                )
        if not self._refusal:
            filters = ", ".join(one.filter for one in self._topics)
            log.info("Listening at %s to %s.", self._broker, filters)

    def _on_disconnect(
        self,
        client: Client,
        _: object,
        flags: DisconnectFlags,
        code: ReasonCode,
        __: object,
    ) -> None:
        was_up, self._is_up = self._is_up, False
        if was_up and not self._backlog.is_coming():
            self._away_since_s = time.time()
        if flags.is_disconnect_packet_from_server and code.value in _FINAL:
            self._refusal = f"The broker {self._broker} refuses: {_FINAL[code.value]}."
        elif was_up and not self._stop.is_set():
            self._tell_away(f"is gone ({code})")
        elif not self._is_answered and not self._stop.is_set():
            self._tell_away(
                "ends the connection at once (mqtts:// where it encrypts, "
                "mqtt:// where it does not)"
            )

    def _on_message(self, client: Client, _: object, came: MQTTMessage) -> None:
        assert self._batches is not None, "messages follow a connection"
        if came.qos == 0 and not came.retain:
            self._tell_unkept(came.topic)
        self._batches.take(
            Message(
                topic=came.topic,
                payload=came.payload,
                mid=came.mid,
                qos=came.qos,
                is_retained=came.retain,
                is_repeated=came.dup,
                received_s=time.time(),
                waited_s=self._backlog.waited_s(),
                connection=self._connection,
            )
        )

    def _tell_unkept(self, topic: str) -> None:
        if topic not in self._told_unkept:
            self._told_unkept.add(topic)
            log.warning(
                "%s is published at QoS 0, so the broker keeps none of it while the "
                "bridge is away; let its sender publish at QoS 1.",
                topic,
            )


def _trusting(ca_file: Path | None) -> ssl.SSLContext:
    """Verifies certificate and host name, by the system's authorities or a file's."""
    try:
        return ssl.create_default_context(cafile=ca_file)
    except OSError as error:  # ssl's own errors are among them
        raise BrokerRefuses(
            f"{ca_file} holds no certificate that can be read ({error.strerror}); "
            "--ca names the file of the authority that signed the broker's."
        ) from error


class _Backlog:
    """Whether what comes in may have waited at the broker, and for how long."""

    def __init__(self, away_s: float = 0.0) -> None:
        self._away_s = away_s
        self._began_at = self._second_at = time.monotonic()
        self._messages = 0

    def waited_s(self) -> float:
        """The longest that a message that comes now may have waited."""
        is_coming = self.is_coming()
        self._messages += 1
        return self._away_s if is_coming else 0.0

    def has_ended(self) -> bool:
        """True once, when what waited is over."""
        was_coming = self._away_s > 0
        return was_coming and not self.is_coming()

    def stood_still(self, for_s: float) -> None:
        """Time spent on storing says nothing of how fast messages come."""
        self._second_at += for_s

    def is_coming(self) -> bool:
        now = time.monotonic()
        if self._away_s and now - self._second_at >= _QUIET_S:
            is_over = self._messages < _QUIET_MESSAGES
            if is_over or now - self._began_at >= _LONGEST_BACKLOG_S:
                self._away_s = 0.0
            self._second_at, self._messages = now, 0
        return self._away_s > 0
