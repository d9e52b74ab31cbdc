"""What axe finds on a page that bars somebody from it, in light and in dark."""

from axe_playwright_python.base import AXE_SCRIPT

# Which scheme it is changes nothing but colours.
BY_COLOUR = ["color-contrast", "link-in-text-block"]
# Only what is broken leaves the page: all that axe looked at would be many times as long.
RUN = """only => axe.run({ runOnly: only || undefined, resultTypes: ['violations'] }).then(found =>
  found.violations.map(each => [each.id, each.nodes.map(node => node.html.slice(0, 200))]))"""


def barriers(page):
    """Each rule that is broken, with the elements that break it: all rules in light, those of colours in dark too."""
    found = barriers_in_light(page)
    page.emulate_media(color_scheme="dark")
    # Axe stays on the page.
    return found + _run(page, BY_COLOUR)


def barriers_in_light(page):
    """The same of light alone, for pages whose colours are looked at elsewhere."""
    page.emulate_media(color_scheme="light")
    page.evaluate(AXE_SCRIPT)
    return _run(page)


def _run(page, only=None):
    return [(rule, nodes) for rule, nodes in page.evaluate(RUN, only)]
