"""A page at several widths and by its keyboard: what spills over or is cut off, what the focus misses or hides."""

WIDTHS_PX = {"200 %": 512, "360 px": 360, "1920 px": 1920}
"""A tablet of 1024 px with everything twice as large, the narrowest phone, a large screen: WCAG 2.2, 1.4.4, 1.4.10."""
HEIGHT_PX = 768
MOST_TABS = 200

# What stands beyond the right edge, save in a part that scrolls by itself, and text that its own box hides.
SPILLS = """() => {
  const wide = document.documentElement.clientWidth, whole = document.scrollingElement.scrollWidth;
  const over = each => getComputedStyle(each).overflowX;
  const keeps = each => each && (over(each) !== 'visible' || keeps(each.parentElement));
  const said = each => `${each.tagName} ${each.className} ${each.textContent.trim().slice(0, 40)}`;
  const seen = [...document.querySelectorAll('body *')].filter(each =>
    each.checkVisibility({ visibilityProperty: true }) && !each.closest('.visually-hidden, .skip, option'));
  const beyond = seen.filter(each => each.getBoundingClientRect().right > wide + 1 && !keeps(each.parentElement));
  const hides = each => ['hidden', 'clip'].includes(over(each)) && each.clientWidth > 1 &&
    !each.matches('.mark, svg, svg *');
  const cut = seen.filter(each => hides(each) && each.textContent.trim() &&
    (each.scrollWidth > each.clientWidth + 1 || each.scrollHeight > each.clientHeight + 2));
  return [
    ...(whole > wide + 1 ? [`the page is ${whole} px wide`] : []),
    ...(whole > wide + 1 ? beyond.slice(0, 4).map(each => 'beyond: ' + said(each)) : []),
    ...cut.slice(0, 4).map(each => 'cut off: ' + said(each)),
  ];
}"""
# What the focus came to, in turn, and whether it was seen there: on the control itself or on its label.
FOLLOW = """() => {
  const ringed = each => {
    const { outlineStyle, outlineWidth } = each ? getComputedStyle(each) : {};
    return outlineStyle && outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2;
  };
  window.came = [];
  document.addEventListener('focusin', ({ target }) => {
    const box = target.getBoundingClientRect();
    const onPage = box.bottom > 0 && box.top < innerHeight;
    window.came.push([target, onPage && (ringed(target) || ringed(target.closest('label')))]);
  });
  const radios = new Set();
  window.due = [...document.querySelectorAll('a[href], button:enabled, input:enabled:not([type=hidden]), ' +
    'select:enabled, textarea:enabled, summary, [tabindex="0"]')]
    .filter(each => each.checkVisibility({ visibilityProperty: true }) && !each.closest('[inert]'))
    .filter(each => each.tabIndex >= 0)
    .filter(each => each.type !== 'radio' || (key => !radios.has(key) && radios.add(key))(each.name + each.form?.id));
  // A day or a time has several parts, each with a stop of its own.
  const parts = window.due.filter(each => ['date', 'time', 'month', 'week', 'datetime-local'].includes(each.type));
  return window.due.length + 5 * parts.length + 3;
}"""
REACHED = """() => {
  const said = each => each.outerHTML.slice(0, 120);
  // A row that the server has answered meanwhile is another one with the same controls.
  const key = each => each.id || each.name || each.outerHTML;
  const same = (one, other) => one === other || (!other.isConnected && key(one) === key(other)) ||
    (one.type === 'radio' && one.name === other.name && one.form === other.form);
  const unseen = window.came.filter(([, seen]) => !seen).map(([each]) => 'focus is not seen: ' + said(each));
  const missed = window.due.filter(each => !window.came.some(([one]) => same(one, each)));
  return [...new Set([...unseen, ...missed.map(each => 'not reached: ' + said(each))])].slice(0, 6);
}"""


def spilled(page):
    """What is wrong at each width, on a page that is open; it is left at the last one."""
    found = []
    for words, wide in WIDTHS_PX.items():
        page.set_viewport_size({"width": wide, "height": HEIGHT_PX})
        found += [f"at {words}: {each}" for each in page.evaluate(SPILLS)]
    return found


def unreached(page):
    """What Tab alone doesn't come to, or where it isn't seen that it has; of a long page, its first MOST_TABS stops.

    The key is held, which moves the focus as often as it repeats.
    """
    stops = page.evaluate(FOLLOW)
    for _ in range(min(stops, MOST_TABS)):
        page.keyboard.down("Tab")
    page.keyboard.up("Tab")
    found = page.evaluate(REACHED)
    return found if stops <= MOST_TABS else [each for each in found if not each.startswith("not reached")]
