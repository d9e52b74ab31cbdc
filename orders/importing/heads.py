"""What each column of a file may be called: our own title first, then words that customers use, in several languages.

Common practice, no source: gathered from general dictionaries' words for the same things. A word that could mean two
columns stands in none of them; somebody chooses then, and the choice is remembered for the customer.
"""

HEADS = {
    "order": (
        "Order",
        "order no, order number, our order, job, job no, job number, auftrag, auftragsnummer, auftragsnr",
    ),
    "reference": (
        "Reference",
        "ref, your ref, your reference, our ref, customer ref, customer reference, customers reference, po, po no, "
        "po number, purchase order, sidemark, project, kommission, referenz, reference client, referencia, "
        "riferimento, referentie, kenmerk",
    ),
    "due_on": (
        "Wanted by",
        "due, due date, due on, required by, date required, required date, wanted, delivery date, deliver by, "
        "liefertermin, termin, lieferdatum, date de livraison, livraison, fecha de entrega, entrega, "
        "data di consegna, consegna, leverdatum",
    ),
    "market": ("Market", "markt, marche, mercado, mercato"),
    "room": (
        "Room",
        "location, place, window, room name, raum, zimmer, ort, fenster, piece, chambre, habitacion, estancia, sala, "
        "stanza, locale, kamer, ruimte, pokoj",
    ),
    "quantity": (
        "Quantity",
        "qty, quant, count, pcs, pieces, no of blinds, number of blinds, blinds, menge, anzahl, stuck, stueck, stk, "
        "quantite, qte, cantidad, uds, unidades, quantita, aantal, ilosc",
    ),
    "system": ("System", "headrail, headrail system, rail system, track, system code, systeme, sistema, systeem"),
    "width": (
        "Width",
        "w, wide, width ordered, blind width, breite, b, largeur, ancho, anchura, larghezza, breedte, szerokosc",
    ),
    "drop": (
        "Drop",
        "h, height, blind drop, blind height, hohe, hoehe, lange, laenge, hauteur, haut, alto, altura, caida, altezza, "
        "hoogte, wysokosc",
    ),
    "size_basis": (
        "Size basis",
        "basis, size type, measured as, recess or exact, recess exact, exact or recess, exact recess, massart, "
        "type de mesure, tipo de medida, tipo misura, maattype",
    ),
    "vane_width": (
        "Vane width",
        "vane, vane size, vanes, slat, slat width, slat size, louvre, louvre width, louver, louver width, "
        "lamelle, lamellen, lamellenbreite, lame, largeur de lame, largeur lame, lama, ancho de lama, ancho lama, "
        "larghezza lamella, lamella, lamel, lamelbreedte",
    ),
    "fabric": (
        "Fabric",
        "fabric code, fabric name, material, cloth, stoff, stoffcode, tissu, tejido, tela, tessuto, stof",
    ),
    "colour": ("Colour", "color, fabric colour, fabric color, shade, farbe, couleur, coloris, colore, kleur, kolor"),
    "draw": (
        "Draw",
        "draw type, stack, stacking, bunch, bunching, paket, paketlage, raffung, ouverture, refoulement, apertura, "
        "recogida, raccolta, pakket",
    ),
    "hand": (
        "Hand",
        "control side, controls side, controls, control hand, side, bedienseite, seite, cote, cote commande, "
        "cote de commande, lado, lado mando, lado de mando, mando, lato, lato comando, kant, bedieningszijde, strona",
    ),
    "operation": (
        "Operation",
        "operated by, control type, operating system, bedienart, bedienung, bedienungsart, type de commande, "
        "manoeuvre, accionamiento, tipo de mando, tipo comando, azionamento, bediening",
    ),
    "loop_control": (
        "Loop control",
        "safety device, safety, child safety, child safety device, kindersicherung, securite enfant, "
        "seguridad infantil, sicurezza bambini, kinderveiligheid",
    ),
    "chain": ("Chain", "chain type, chain material, kette, kettenart, chainette, cadena, catena, catenella, ketting"),
    "control_drop": (
        "Control drop",
        "chain drop, chain length, control length, controls length, cord length, kettenlange, kettenlaenge, "
        "bedienlange, bedienlaenge, longueur de chainette, longueur commande, largo de cadena, longitud de cadena, "
        "lunghezza catena, lunghezza comando, kettinglengte, bedieningslengte",
    ),
    "installation_height": (
        "Installation height",
        "fitting height, fixing height, height from floor, floor to top, montagehohe, montagehoehe, einbauhohe, "
        "einbauhoehe, hauteur de pose, hauteur d installation, altura de instalacion, altezza di installazione, "
        "montagehoogte",
    ),
    "recess_depth": (
        "Recess depth",
        "depth, reveal depth, tiefe, nischentiefe, profondeur, profundidad, fondo, profondita, diepte",
    ),
    "fixing": (
        "Fixing",
        "fix, fitting, mount, mounting, bracket, brackets, montage, befestigung, fixation, pose, fijacion, "
        "fissaggio, bevestiging",
    ),
    "bottom": (
        "Bottom",
        "bottom finish, bottoms, vane bottom, weights, unten, abschluss, bas, bajo, fondo lama, onderkant",
    ),
    "special_instruction": (
        "Special instruction",
        "special instructions, special, instruction, instructions, note, notes, comment, comments, remark, remarks, "
        "bemerkung, bemerkungen, hinweis, kommentar, remarque, remarques, observaciones, nota, notas, note speciali, "
        "opmerking, opmerkingen, uwagi",
    ),
    "concerns": ("Stations concerned", "concerns, stations"),
}

TITLES = {field: title for field, (title, _) in HEADS.items()}
