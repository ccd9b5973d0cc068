"""For everyone: axe-core on every sheet, in both schemes, on a phone and on a desk.

The rules are those of axe-core (https://github.com/dequelabs/axe-core, MPL-2.0): the Web Content
Accessibility Guidelines 2.0 to 2.2, levels A and AA, and its own best practices.
"""

from pathlib import Path

import pytest

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """async (tags) => {
    const found = await axe.run(document, {
        runOnly: tags, resultTypes: ["violations", "incomplete"], elementRef: true,
        preload: false, // it would fetch the style sheets
    });
    const told = (node) => `${node.target} ${node.failureSummary}`;
    const faults = found.violations.flatMap((rule) =>
        rule.nodes.map((node) => `${rule.id}: ${told(node)}`));
    const unread = found.incomplete.filter((rule) => rule.id === "color-contrast");
    return { passes: found.passes.length, faults: [...faults, ...pale(unread)] };

    // What axe cannot decide (text in a drawing, a single letter) is held against the bare paper.
    function pale(rules) {
        const paper = colour(getComputedStyle(document.documentElement).backgroundColor);
        return rules.flatMap((rule) => rule.nodes).flatMap(({ element, target }) => {
            const style = getComputedStyle(element);
            const ink = colour(element instanceof SVGElement ? style.fill : style.color);
            const [, , , cover = 1] = ink;
            const inkOnPaper = paper.map((part, i) => ink[i] * cover + part * (1 - cover));
            const large = parseFloat(style.fontSize) >= 24;
            const ratio = axe.commons.color.getContrast(shade(paper), shade(inkOnPaper));
            return ratio < (large ? 3 : 4.5) ? [`contrast ${ratio.toFixed(2)}: ${target}`] : [];
        });
    }
    function colour(text) { return text.match(/[0-9.]+/g).map(Number); }
    function shade([red, green, blue]) { return new axe.commons.color.Color(red, green, blue, 1); }
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing_on_any_sheet(visit, packages: Path, demo_site: Path, width, scheme):
    axe = packages / "axe-core" / "axe.min.js"
    seen = visit("data.html", width=width)
    seen.page.emulate_media(color_scheme=scheme)
    seen.page.add_init_script(path=axe)
    sheets = sorted(path.name for path in demo_site.glob("*.html"))
    assert len(sheets) > 5
    faults = []
    for name in (*sheets, "index.html#tree=G002"):
        seen.page.goto("about:blank")
        seen.go(name)
        if seen.page.locator(".map").count():
            seen.until("document.querySelectorAll('.tick-label').length > 0")
        if "#" in name:
            seen.until("document.querySelectorAll('#tree-panel .working li').length > 0")
        if "#" in name or name.startswith("trees"):
            seen.page.fill("#filters [name=search]", "oak")
        found = seen.page.evaluate(RUN, TAGS)
        assert found["passes"] > 20
        faults += [f"{name}: {fault}" for fault in found["faults"]]
    assert "\n".join(faults) == ""
