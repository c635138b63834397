"""`assistant devices`: which microphones and loudspeakers there are."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from assistant.cli.show import table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assistant.sound.device import Device


@click.command("devices")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def devices_command(as_json: bool) -> None:
    """List microphones and loudspeakers; the first of each is used unless another is chosen.

    Choose with --microphone and --loudspeaker of `assistant session`, by number or a part of the name, or for good in
    the table [sound] of settings.toml.
    """
    from assistant.sound.device import loudspeakers, microphones

    found = {"microphones": microphones(), "loudspeakers": loudspeakers()}
    if as_json:
        click.echo(json.dumps({kind: [_flat(device) for device in devices] for kind, devices in found.items()}))
        return
    for kind, devices in found.items():
        click.echo(f"{kind}:" if devices else f"{kind}: none")
        if devices:
            click.echo(table(("", "name", "rate"), _rows(devices)))


def _flat(device: Device) -> dict[str, str | int]:
    return {"name": device.name, "rate_hz": device.rate_hz}


def _rows(devices: Sequence[Device]) -> list[tuple[str, ...]]:
    return [(str(n), device.name, f"{device.rate_hz} Hz") for n, device in enumerate(devices, start=1)]
