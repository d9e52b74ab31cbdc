"""What axe finds on a page that bars somebody from it, in light and in dark."""

from axe_playwright_python.sync_playwright import Axe

# Which scheme it is changes nothing but colours.
BY_COLOUR = ["color-contrast", "link-in-text-block"]


def barriers(page):
    """Each rule that is broken, with the elements that break it: all rules in light, those of colours in dark too."""
    found = barriers_in_light(page)
    page.emulate_media(color_scheme="dark")
    # Axe stays on the page.
    dark = page.evaluate("only => axe.run({ runOnly: only, resultTypes: ['violations'] })", BY_COLOUR)
    return found + _named(dark["violations"])


def barriers_in_light(page):
    """The same of light alone, for pages whose colours are looked at elsewhere."""
    page.emulate_media(color_scheme="light")
    return _named(Axe().run(page).response["violations"])


def _named(violations):
    return [(each["id"], [node["html"][:200] for node in each["nodes"]]) for each in violations]
