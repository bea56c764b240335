"""Everything of a piece can be set on the page, also what its file leaves out."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

from tests.page.served import Served

CHANGED = "changed, not yet written"


def unfold(page: Page, table: str) -> Locator:
    """Unfold a table of the form and what it leaves at its defaults, and return what it holds."""
    sheet = page.locator(f"#form details[data-table='{table}']")
    sheet.locator("> summary").click()
    expect(sheet.locator("> .inside > *").first).to_be_attached()  # it is filled once it is open
    left = sheet.locator("> .inside > details.left > summary")
    if left.count():
        left.click()
    return sheet.locator("> .inside")


def written(page: Page, served: Served) -> str:
    page.get_by_role("button", name="Write the file").click()
    expect(page.locator("#word")).to_have_text("as in the file")
    return served.file.read_text(encoding="utf-8")


def test_what_is_left_out_is_added_at_the_end_of_its_table_and_taken_out_again(opened: Page, served: Served) -> None:
    before = served.file.read_text(encoding="utf-8")
    circuit = unfold(opened, '["circuit",0]')
    cap = circuit.get_by_label("current cap", exact=True)
    expect(cap).to_have_attribute(
        "placeholder", "80 % of what one pack or supply may give (common practice, no source)"
    )
    cap.fill("1.2 A")
    cap.press("Enter")
    expect(opened.locator("#word")).to_have_text(CHANGED)
    after = 'board = "m328p-16mhz-crystal"\n'
    assert written(opened, served) == before.replace(after, after + 'current_cap = "1.2 A"\n')
    circuit.get_by_role("button", name="take current cap out").click()
    expect(opened.locator("#word")).to_have_text(CHANGED)
    assert written(opened, served) == before


def test_a_second_pack_comes_with_the_way_it_is_joined(opened: Page, served: Served) -> None:
    circuit = unfold(opened, '["circuit",0]')
    circuit.get_by_label("packs", exact=True).fill("2")
    circuit.get_by_label("packs", exact=True).press("Enter")
    expect(circuit.get_by_label("joined", exact=True)).to_have_value("in turn")
    assert 'packs = 2\njoined = "in turn"\n' in written(opened, served)


def test_a_colour_of_a_look_is_picked_and_a_cue_copied(opened: Page, served: Served) -> None:
    cue = unfold(opened, '["cue",0]')
    unfold(opened, '["cue",0,"set"]')
    cue.get_by_label("tint, from a palette").fill("#ff8800")
    cue.get_by_label("tint, from a palette").dispatch_event("change")
    expect(cue.get_by_label("tint", exact=True)).to_have_value("#ff8800")
    cue.get_by_role("button", name="One more like cue 1").click()
    expect(opened.locator("#form summary", has_text="cue 2")).to_be_visible()
    text = written(opened, served)
    assert text.count('[[cue]]\nlook = "slow-ice"\nlength = "10 s"\nfade = "1 s"\nset = { tint = "#ff8800" }') == 2
    opened.get_by_role("button", name="Undo").click()
    opened.get_by_role("button", name="Undo").click()
    expect(opened.locator("#form summary", has_text="cue 2")).to_have_count(0)
    assert "set" not in written(opened, served)


def test_a_part_is_picked_from_the_catalogue(opened: Page, served: Served) -> None:
    circuit = unfold(opened, '["circuit",0]')
    circuit.get_by_label("pack", exact=True).select_option("pack-20ah-3a")
    expect(opened.locator("#word")).to_have_text(CHANGED)
    assert 'pack = "pack-20ah-3a"\n' in written(opened, served)


def test_what_can_not_be_added_says_why_beside_its_field(opened: Page, served: Served) -> None:
    before = served.file.read_text(encoding="utf-8")
    circuit = unfold(opened, '["circuit",0]')
    plug = circuit.get_by_label("plug", exact=True)
    plug.fill("10 kg")
    plug.press("Enter")
    beside = circuit.locator(".field", has=opened.get_by_label("plug", exact=True)).locator(".wrong")
    expect(beside).to_contain_text("a resistance")
    expect(plug).to_have_attribute("aria-invalid", "")
    expect(opened.locator("#word")).to_have_text("as in the file")
    assert served.file.read_text(encoding="utf-8") == before
