"""The longest texts that an order may have, and lines with little and much to say."""

LONG_CUSTOMER = "Northgate and Wetherill Contract Furnishing Partnership of Upper Marlow and Hythe"[:80]
LONG_ROOM = "Conference room on the third floor, north side, by the lifts"[:60]
LONG_INSTRUCTION = (
    "The brackets go to the steel beam over the window, not to the ceiling. The beam stands 14 mm lower on the left; "
    "pack the left bracket. Metal chain, and the customer's own tensioner bracket, which is in the bag with the order. "
    "Ring the site's manager the day before the van leaves, the lift is small."
)
WAND = {"operation": "wand"}
LOOSE = {"loop_control": "breakaway", "installation_height_mm": 2400}
