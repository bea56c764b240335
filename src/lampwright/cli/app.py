"""The commands. Each is imported only when it is called, so that help comes at once."""

from __future__ import annotations

from importlib.metadata import version

from cyclopts import App

app = App(
    name="lampwright",
    help="From a brief to a lit, battery-powered set piece of addressable pixel strip: "
    "checked, built and rehearsed before anything is soldered.",
    help_epilogue="Results are estimates, no certificate: local codes, the venue's rules and licensed practice "
    "come first. Add --trace to see where a fault of the program itself arose.",
    version=lambda: version("lampwright"),
    help_format="plaintext",  # the others load a Markdown reader, which takes longer than all the rest
    suppress_keyboard_interrupt=False,
)
app.command(
    "lampwright.cli.new:new",
    name="new",
    help="Write a small piece file to start from.",
    sort_key=1,
)
app.command(
    "lampwright.cli.propose:propose_designs",
    name="propose",
    help="Search for first designs of a brief.",
    sort_key=1,
)
app.command(
    "lampwright.cli.check:check",
    name="check",
    help="Check a piece: layout, boards, show and power.",
    sort_key=2,
)
app.command(
    "lampwright.cli.feeds:feeds",
    name="feeds",
    help="Find the cheapest feeds that hold every frame of the show.",
    sort_key=2,
)
app.command(
    "lampwright.cli.firmware:firmware",
    name="firmware",
    help="Check a piece, then write and build its firmware.",
    sort_key=3,
)
app.command(
    "lampwright.cli.rehearse:rehearse",
    name="rehearse",
    help="Check and build a piece, then run its firmware on emulated chips.",
    sort_key=4,
)
app.command(
    "lampwright.cli.faults:faults",
    name="faults",
    help="Go through every fault of a piece: what stays lit, and what it costs.",
    sort_key=5,
)
app.command(
    "lampwright.cli.open:open_page",
    name="open",
    help="Open a page with the piece: see it, turn it, change it.",
    sort_key=6,
)
app.command(
    "lampwright.cli.preview:preview",
    name="preview",
    help="Write a page with the living piece, to send to whoever ordered it.",
    sort_key=7,
)
app.command(
    "lampwright.cli.look:look",
    name="look",
    help="Tell a look's settings, draw and precision.",
    sort_key=8,
)
app.command(
    "lampwright.cli.places:places",
    name="places",
    help="Write where every pixel is, as CSV or JSON.",
    sort_key=9,
)
app.command(
    "lampwright.cli.drawing:drawing",
    name="drawing",
    help="Draw plan, elevations and isometric to scale, as PDF and SVG.",
    sort_key=10,
)
app.command(
    "lampwright.cli.cuts:cuts",
    name="cuts",
    help="Plan the cuts of tube, strip, wire and cord.",
    sort_key=11,
)
app.command(
    "lampwright.cli.wiring:wiring",
    name="wiring",
    help="Draw the wiring of each circuit, and list wires and joints.",
    sort_key=12,
)
app.command(
    "lampwright.cli.shopping:shopping",
    name="shopping",
    help="List what to buy, less the shelf, plus spares.",
    sort_key=13,
)
app.command(
    "lampwright.cli.week:week",
    name="week",
    help="Plan the days until the show, and the chance of being ready.",
    sort_key=14,
)
app.command(
    "lampwright.cli.papers:papers",
    name="papers",
    help="Write the crew's card, labels and bench test sheets as PDF.",
    sort_key=15,
)
app.command(
    "lampwright.cli.book:book",
    name="book",
    help="Bind all that is printed into one PDF, the build book.",
    sort_key=16,
)
app.command(
    "lampwright.cli.strike:strike",
    name="strike",
    help="After the show: inspect, map the damage, put back on the shelf, learn.",
    sort_key=16,
)
app.command(
    "lampwright.cli.shelf:shelf",
    name="shelf",
    help="The stock book: what lies on the shelf, kept for which piece.",
    sort_key=17,
)
app.command(
    "lampwright.cli.demo:demo",
    name="demo",
    help="Do all of it on Frost Gate, an invented piece.",
    sort_key=18,
)
app.command(
    "lampwright.cli.explain:explain",
    name="explain",
    help="Print the page of a check: what, why, and what to do.",
    sort_key=19,
)
