"""What of the catalogue would serve in a part's place."""

from __future__ import annotations

from lampwright.parts import Board, Pack, Supply, Wire, load_catalogue


def substitute_for(part: str) -> str:
    """Return the nearest part of the catalogue that is at least as good in every figure that counts; else nothing."""
    catalogue = load_catalogue()
    gauge, _, colour = part.rpartition(" ")
    if gauge in catalogue.wires:
        thicker = _thicker(catalogue.wires[gauge])
        return f"{thicker} {colour}" if thicker else ""
    if part in catalogue.packs:
        return _stronger(catalogue.packs[part])
    if part in catalogue.supplies:
        return _larger(catalogue.supplies[part])
    if part in catalogue.boards:
        return _same_but_steadier(catalogue.boards[part])
    return ""


def _thicker(wire: Wire) -> str:
    better = [
        each
        for each in load_catalogue().wires.values()
        if each.resistance.value < wire.resistance.value and each.ampacity.value >= wire.ampacity.value
    ]
    return max(better, key=lambda each: each.resistance.value).name if better else ""


def _stronger(pack: Pack) -> str:
    better = [
        each
        for each in load_catalogue().packs.values()
        if each.name != pack.name
        and each.output_voltage.value == pack.output_voltage.value
        and each.current_limit.value >= pack.current_limit.value
        and each.charge.value >= pack.charge.value
        and each.shutoff_current.value <= pack.shutoff_current.value
    ]
    return min(better, key=lambda each: (each.charge.value, each.current_limit.value)).name if better else ""


def _larger(supply: Supply) -> str:
    """Another supply of the same IP code or as tight a one, that asks for no earth where this one asks for none."""
    better = [
        each
        for each in load_catalogue().supplies.values()
        if each.name != supply.name
        and each.output_voltage.value == supply.output_voltage.value
        and each.current_limit.value >= supply.current_limit.value
        and each.ip >= supply.ip
        and each.works_from.value <= supply.works_from.value
        and each.protection in (supply.protection, "class II")
    ]
    return min(better, key=lambda each: each.current_limit.value).name if better else ""


def _same_but_steadier(board: Board) -> str:
    """Another board of the same chip, clock and supply, whose firmware would be the same, with as good a clock."""
    better = [
        each
        for each in load_catalogue().boards.values()
        if each.name != board.name
        and (each.chip, each.clock.value, each.supply.value) == (board.chip, board.clock.value, board.supply.value)
        and each.clock_tolerance.value <= board.clock_tolerance.value
    ]
    return min(better, key=lambda each: each.clock_tolerance.value).name if better else ""
