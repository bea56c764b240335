"""Critical path, slack and three-point estimates.

Sources (secondary, data as commonly quoted):
J. Heizer and B. Render, Operations Management, chapter on projects, the pollution-control example of eight
activities: 15 weeks, slack of B 1 and F 6, variance 3.11; the book rounds the chance of 16 weeks to 0.716. Three
points of B, D and F from memory.
Two further networks of course solutions: nine activities with path D-F-G of 21.5, and fourteen with 50.833.
"""

from __future__ import annotations

import math

import pytest

from lampwright.making import Calendar, Network, Task, critical_path, schedule

HEIZER = """
A  1 2 3
B  2 3 4
C  1 2 3   A
D  2 4 6   A B
E  1 4 7   C
F  1 2 9   C
G  3 4 11  D E
H  1 2 3   F G
"""
NINE = """
A 5 6 7
B 8 8 11
C 6 8 11  A
D 9 12 15
E 5 6 9   C
F 5 6 7   D
G 2 3 7   F
H 4 4 5   B
I 5 7 8   H
"""
FOURTEEN = """
A 5 5 7
B 1 2 5
C 5 5 5    A
D 4 8 13   A
E 1 10 17  B C
F 1 5 7    D
G 2 6 9    D
H 4 4 6    E F
I 2 7 10   G H
J 2 4 7    I
K 6 10 13  I
L 2 6 6    J
M 2 2 3    K
N 7 7 12   L M
"""


def read(text: str) -> list[Task]:
    rows = [line.split() for line in text.strip().splitlines()]
    return [Task(name, tuple(after), float(a), float(m), float(b)) for name, a, m, b, *after in rows]


def slacks(network: Network) -> dict[str, float]:
    return {name: span.slack for name, span in network.spans.items() if span.slack > 1e-9}


def test_eight_activities_of_pollution_control() -> None:
    network = critical_path(read(HEIZER))
    assert network.length == pytest.approx(15)
    assert network.critical == tuple("ACEGH")
    assert slacks(network) == pytest.approx({"B": 1, "D": 1, "F": 6})
    assert network.variance == pytest.approx(3.1111, abs=5e-5)
    assert network.chance(16) == pytest.approx(0.7146, abs=5e-5)


def test_one_worker_takes_the_sum_of_all() -> None:
    plan = schedule(read(HEIZER), Calendar(0.0, 86_400.0), 1, 1e9)
    assert plan.finish == pytest.approx(25)


def test_nine_activities() -> None:
    network = critical_path(read(NINE))
    assert network.length == pytest.approx(21.5)
    assert network.critical == tuple("DFG")
    assert network.variance == pytest.approx(1.8056, abs=5e-5)
    assert network.chance(24) == pytest.approx(0.9686, abs=5e-5)
    ends = {name: span.earliest_finish for name, span in network.spans.items()}
    assert ends["E"] == pytest.approx(20.5)
    assert ends["I"] == pytest.approx(19.5)


def test_fourteen_activities() -> None:
    network = critical_path(read(FOURTEEN))
    assert network.length == pytest.approx(50.833, abs=5e-4)
    assert network.critical == tuple("ACEHIKMN")
    assert slacks(network) == pytest.approx({"B": 8.0, "D": 1.83, "F": 1.83, "G": 5.0, "J": 2.5, "L": 2.5}, abs=5e-3)
    assert network.variance == pytest.approx(11.194, abs=5e-4)
    assert network.chance(network.length) == 0.5
    assert math.isclose(network.chance(network.length + math.sqrt(network.variance)), 0.8413, abs_tol=5e-5)
