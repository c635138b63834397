"""Microphones and loudspeakers as the system names them; miniaudio reaches them without any other package."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import miniaudio

from assistant.errors import BadDevice

NULL = (miniaudio.Backend.NULL,)
"""The back end that hears silence and plays to nobody, for trying without any device."""

ALSA_NULL = b"null"
"""ALSA's name for what it shows where there is no sound card. It takes and gives sound as fast as a core can."""

USUAL_HZ = 48000
"""Nearly every device has this rate; it is asked for where a device names none."""

LAST_CALL_S = 0.2
"""So long a device that is closed may take to call us for the last time; one that is gone never does."""

Backends = Sequence[miniaudio.Backend]


@dataclass(frozen=True)
class Device:
    """A microphone or loudspeaker.

    Attributes:
        name: as the system calls it.
        rate_hz: a sampling rate that it has of its own.
        id: what miniaudio knows it by.
    """

    name: str
    rate_hz: int = USUAL_HZ
    id: Any = field(default=None, compare=False, repr=False)


def microphones(backends: Backends = ()) -> tuple[Device, ...]:
    """The microphones that are there now, in the order of the system; none if it has no sound."""
    return _devices(backends, "get_captures")


def loudspeakers(backends: Backends = ()) -> tuple[Device, ...]:
    """The loudspeakers that are there now, in the order of the system; none if it has no sound."""
    return _devices(backends, "get_playbacks")


def chosen(devices: Sequence[Device], wanted: str, what: str) -> Device:
    """The device that is wanted.

    Args:
        devices: those that are there.
        wanted: its number in the list from 1, or a part of its name; empty for the first, the system's usual one.
        what: "microphone" or "loudspeaker", for the message.

    Raises:
        BadDevice: there is none, or not that one.
    """
    if not devices:
        raise BadDevice(f"There is no {what}. Plug one in, or see what there is with: assistant devices")
    if not wanted:
        return devices[0]
    if wanted.isdecimal() and 1 <= int(wanted) <= len(devices):
        return devices[int(wanted) - 1]
    for device in devices:
        if wanted.casefold() in device.name.casefold():
            return device
    names = "; ".join(f"{n} {device.name}" for n, device in enumerate(devices, start=1))
    raise BadDevice(f"There is no {what} {wanted!r}. Those that are there: {names}.")


def close_after(device: Any, ending: threading.Event) -> None:
    """Closes a device of miniaudio once it has called our generator for the last time.

    The library forgets the generator before it stops the device, whose thread may be just about to call it.

    Args:
        device: an open one.
        ending: tells the generator to end when it is called next.
    """
    ending.set()
    until = time.monotonic() + LAST_CALL_S
    while device.callback_generator is not None and time.monotonic() < until:
        time.sleep(0.005)
    device.close()


def _devices(backends: Backends, kind: str) -> tuple[Device, ...]:
    try:
        context = miniaudio.Devices(list(backends) or _real())
        found = getattr(context, kind)()
    except miniaudio.MiniaudioError:
        return ()
    return tuple(Device(one["name"], _rate(one["formats"]), one["id"]) for one in found if _is_real(one["id"]))


def _is_real(device_id: Any) -> bool:
    return bytes(miniaudio.ffi.buffer(device_id)).partition(b"\0")[0] != ALSA_NULL


def real_backends() -> Backends:
    """Every back end of this system but the one that hears nothing, the usual one first."""
    return tuple(_real())


def _real() -> list[miniaudio.Backend]:
    order = list(miniaudio.Backend)
    return [one for one in order if one is not miniaudio.Backend.NULL and miniaudio.is_backend_enabled(one)]


def _rate(formats: Sequence[dict[str, Any]]) -> int:
    """The usual rate if the device has it, else the first that it names: no conversion before ours."""
    rates = [one["samplerate"] for one in formats if one["samplerate"]]
    return USUAL_HZ if USUAL_HZ in rates or not rates else int(rates[0])
