"""What is written for each choice of a line: our own word first, then others', in several languages.

Common practice, no source. A word is looked up among those of its own column alone: German `Wand`, a wall, is a face
fix under Fixing, and a wand under Operation. Single letters are those of hands alone: L and R, and D and G of Romance
languages.
"""

from orders.importing.columns import plain
from orders.models.choices import MARKET_NAMES, WORDS

OTHER_WORDS = {
    "size_basis": {
        "recess": "recess size, opening, opening size, inside recess, nische, nischenmass, lichtes mass, tableau, "
        "dans tableau, hueco, vano, luce, dag, dagmaat, in de dag",
        "exact": "exact size, finished, finished size, blind size, made size, fertigmass, bestellmass, "
        "mesure finie, finie, medida final, acabado, misura finita, finita, exacto, exacta, exacte, esatta",
    },
    "draw": {
        "one_way": "one-way, oneway, single, single draw, to controls, with controls, einseitig, eine seite, "
        "un cote, un lado, un lato, eenzijdig, enkel",
        "reverse": "reverse draw, away from controls, opposite controls, gegenseite, gegenuber, oppose, "
        "cote oppose, opuesto, lado opuesto, opposto, tegenover",
        "split": "split draw, centre split, center split, centre, center, middle, both sides, both ways, bi-part, "
        "geteilt, mittig, beidseitig, zweiseitig, central, centrale, deux cotes, dos lados, due lati, gedeeld, midden",
    },
    "hand": {
        "left": "l, lh, lhs, left hand, left side, links, li, gauche, g, a gauche, izquierda, izq, izquierdo, "
        "sinistra, sx, lewa, lewy",
        "right": "r, rh, rhs, right hand, right side, rechts, re, droite, d, a droite, derecha, dcha, der, derecho, "
        "destra, dx, prawa, prawy",
    },
    "operation": {
        "cord_chain": "cord & chain, cord/chain, cord, chain, chain and cord, corded, schnur und kette, kette, "
        "schnur, kette und schnur, cordon et chainette, chainette, cordon, cordon y cadena, cadena y cordon, cadena, "
        "corda e catena, catena, catenella, koord en ketting, ketting",
        "wand": "wand operated, stick, cordless wand, stab, bedienstab, baguette, tige, varilla, vara, asta, "
        "bastone, stang",
    },
    "loop_control": {
        "tensioner": "tension device, tension, chain tensioner, kettenspanner, tendeur, tensor, "
        "tenditore, kettingspanner",
        "breakaway": "break away, safety breakaway, breakaway connector, chain break, sollbruchstelle, "
        "kettenverbinder, rupture, connecteur de securite, ruptura, conector de seguridad, breekbaar",
        "weight": "cord weight, loop weight, gewicht, poids, peso",
    },
    "chain": {
        "plastic": "plastic chain, kunststoff, plastik, plastique, plastico, plastica, kunststof",
        "metal": "metal chain, steel, stainless, stainless steel, nickel, metall, stahl, edelstahl, inox, acier, "
        "acero, metallo, acciaio, metaal, staal",
    },
    "fixing": {
        "top": "ceiling, top fix, decke, deckenmontage, plafond, plafonnier, techo, soffitto",
        "face": "face fix, wall, front, wand, wandmontage, mur, mural, de face, pared, frontal, parete, muur",
    },
    "bottom": {
        "chain": "bottom chain, bottom chains, chains, linked, kette, mit kette, chainette, avec chainette, cadena, "
        "con cadena, catena, catenella, ketting",
        "chainless": "no chain, without chain, chain free, sewn-in weights, sewn in, ohne kette, kettenlos, "
        "sans chainette, sin cadena, senza catena, zonder ketting",
    },
    "market": {
        "en13120": "eu, uk, gb, europe, european union, united kingdom, en 13120, eu and uk",
        "australia": "au, aus",
        "canada": "ca, can",
        "usa": "us, united states, united states of america",
    },
}
TITLE_OF = {**WORDS, **MARKET_NAMES}


def _by_word(values):
    found = {}
    for value, others in values.items():
        for word in (value, TITLE_OF[value], *others.split(",")):
            other = found.setdefault(plain(word), value)
            if other != value:
                raise ValueError(f"{word!r} means both {other} and {value}")
    return found


VALUE_OF = {field: _by_word(values) for field, values in OTHER_WORDS.items()}


def value_of(field, text):
    """The choice of `field` that `text` says, or None."""
    return VALUE_OF[field].get(plain(text))


def accepted(field):
    """The titles of what `field` may be: what to write instead."""
    return [TITLE_OF[value] for value in OTHER_WORDS[field]]
