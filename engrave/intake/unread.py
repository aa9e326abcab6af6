"""Columns that are not read and may hold what was ordered: a shop is asked about them once, and until then their rows wait.

A column is asked about if its heading speaks of the goods or the words, or if its cells read like words of the buyers'.
Headings of addresses, payments, days and numbers are left alone. The lists are data: common practice, no source, from
the headings that shop pages give their exports in ten languages.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from engrave.intake.cells import WORDS_OF_YES_AND_NO, due_day
from engrave.intake.headers import Columns, Unread, fold, heading_names
from engrave.intake.rows import BLANK_SIGNS, Row
from engrave.shop.models import Intake


def _lines(*lines: str) -> str:
    return " ".join(lines)


@cache
def _stems(words: str) -> frozenset[str]:
    """Return words of a list as they are compared; only where there is a column that nobody reads."""
    return frozenset(fold(word) for word in words.split())


MONEY_AND_NUMBERS = _lines(
    "price preis prix precio prijs prezzo preço pris cena total totaal totale subtotal summe suma cost costs kosten coût",
    "amount betrag montant importe bedrag discount rabatt remise descuento korting sconto coupon voucher fee fees gebühr",
    "tax taxes steuer vat mwst tva iva btw currency währung devise moneda valuta payment zahlung paiement pago betaling",
    "paid bezahlt paypal refund id ids number nummer numéro número numero nr no sku ean upc gtin asin isbn code barcode",
    "invoice rechnung facture factura factuur quantity qty menge anzahl quantité cantidad aantal stock weight gewicht",
    "poids peso vikt url link status carrier tracking ip count",
)
"""A heading with one of these is about money, counting or the parcel, whatever else it names ('Item price')."""

OF_THE_WORDS = _lines(
    "engrav engraving engraved gravur eingravier gravier gravure graver grabado grabar graveer gegraveerd graverin",
    "personali personnali inscri inschrift einschrift opschrift monogram initial initialen wording lettering",
    "lid lids deckel couvercle tapa deksel coperchio låg lock wieczko beschrift aufschrift widmung dédicace dedicatoria",
)
"""A heading with one of these tells what is to be cut, even where it is called a date ('Date to engrave')."""

ADDRESSES_AND_DAYS = _lines(
    "date dates datum fecha data dato time zeit heure hora country land pays país paese city stadt ort ville ciudad",
    "town county state region province provinz provincia zip plz postcode postal cap street strasse straße rue calle",
    "straat via address adresse dirección adres indirizzo endereço email mail phone telefon telephone téléphone teléfono",
    "tel mobile handy contact username login account company firma société empresa bedrijf vorname nachname surname",
    "firstname lastname fullname familyname achternaam voornaam apellido apellidos cognome anrede salutation salutación",
    "language sprache langue locale timezone cidade cittá città stad miasto localidad localité gemeinde woonplaats",
)

OF_THE_GOODS = _lines(
    "item items article artikel artículo articolo artigo artykuł vare vara product produkt produit producto prodotto",
    "produto listing variation variations variant variante option options optionen opción opties choice model modell",
    "modèle modelo size sizes größe taille tamaño talla maat formaat dimension dimensions dimensiones abmessung storlek",
    "størrelse rozmiar misura diameter durchmesser box boxes kiste kästchen schachtel dose boîte caja doos scatola",
    "shape form forme forma vorm kształt message messages nachricht mensaje bericht messaggio mensagem meddelande text",
    "texts texte texto tekst testo words worte mots palabras woorden spruch quote motto verse wish wishes wunsch wünsche",
    "instruction instructions anweisung anweisungen request requests wood woods holz holzart bois madera hout legno",
    "madeira trä træ drewno timber material matériau materiaal font fonts typeface schrift schriftart police fuente",
    "lettertype carattere czcionka script style stil estilo stijl stile customization customisation customized lineitem",
    "line zeile ligne línea regel riga linha rad linje note remark comment kommentar bemerkung anmerkung opmerking",
)
"""A heading with one of these speaks of item, size, lid, message, wood or font."""

OF_PEOPLE = _lines(
    "buyer customer client kunde käufer käuferin acheteur cliente klant koper comprador acquirente köpare recipient",
    "empfänger destinataire destinatario ontvanger ship shipping versand livraison envío verzending spedizione delivery",
    "lieferung liefer billing sender absender gift wrap wrapping geschenkverpackung",
    "store shop channel source seller user payer",
)
"""A heading with one of these is of the people and the parcel, unless it speaks of the goods too ('Buyer message')."""

_LONG = 5
"""Letters from which a stem counts inside a longer word too, as in 'Artikelbezeichnung', 'Personalisierungstext'."""


def with_unread(columns: Columns, rows: Iterable[Row], intake: Intake) -> Columns:
    """Return the columns with those that must be asked about, judged by their headings and by the rows' cells."""
    names = heading_names(intake)
    cells: dict[int, list[str]] = {i: [] for i, _ in columns.extras if fold(columns.heading(i)) not in names}
    counts = dict.fromkeys(cells, 0)
    for row in rows:
        for i, found in cells.items():
            text = row.cells[i].strip(BLANK_SIGNS) if i < len(row.cells) else ""
            counts[i] += bool(text)
            if text and len(found) < _JUDGED:
                found.append(text)
    asked = []
    for i, found in cells.items():
        why = why_asked(columns.heading(i), found) if found else ""
        if why:
            asked.append(Unread(i, columns.title(i), why, counts[i], bool(columns.heading(i))))
    return replace(columns, unread=tuple(asked))


_JUDGED = 200
"""Filled cells by which a column is judged, from the first on."""


def why_asked(heading: str, cells: list[str]) -> str:
    """Return why a shop must say what an unread column is, '' if it need not. cells: its filled ones."""
    if not heading or not any(c.isalpha() for c in heading):
        return "it has no heading and holds words" if _are_words(cells) else ""
    if _speaks(heading, MONEY_AND_NUMBERS):
        return ""
    if _speaks(heading, OF_THE_WORDS):
        return "its heading speaks of the words"
    if _speaks(heading, ADDRESSES_AND_DAYS):
        return ""
    if _speaks(heading, OF_THE_GOODS):
        return "its heading speaks of what is ordered"
    if _speaks(heading, OF_PEOPLE):
        return ""
    return "its cells read like words" if _are_words(cells) else ""


def _speaks(heading: str, of: str) -> bool:
    """Tell whether a heading holds one of the stems of a list: as a word, or, if it is long, inside one."""
    stems = _stems(of)
    plain = re.sub(r"(?<=[a-zß-ÿ])(?=[A-Z])", " ", heading)
    words = {fold(word) for word in re.split(r"[\W_]+", plain) if word} | {fold(heading)}
    if words & stems or {word.removesuffix("s") for word in words} & stems:
        return True
    return any(stem in word for word in words for stem in stems if len(stem) >= _LONG)


_LETTERS = 0.6
"""Share of letters in a cell from which it reads like words, and not like a number, a code or an address."""

_DIFFERENT = 0.5
"""Share of cells that differ from all others, from which a column is a matter of each buyer, and not of the shop."""

_NO_WORDS = re.compile(r"\S+@\S+\.\S+|https?://|www\.|\+?\d[\d\s()./-]{6,}")


def _are_words(cells: list[str]) -> bool:
    """Tell whether cells are mostly letters and differ from row to row; days, addresses, codes and yes or no do not."""
    worded = [cell for cell in cells if _is_words(cell)]
    if 2 * len(worded) < len(cells) or all(fold(cell[:_LOOKED_AT]) in WORDS_OF_YES_AND_NO for cell in cells):
        return False
    different = {cell.casefold() for cell in worded}
    return bool(worded) and len(different) >= _DIFFERENT * len(worded) and (len(different) > 1 or len(worded) == 1)


def _is_words(cell: str) -> bool:
    plain = cell[:_LOOKED_AT]
    letters = sum(1 for c in plain if c.isalpha())
    seen = sum(1 for c in plain if not c.isspace())
    if letters < 2 or letters < _LETTERS * seen or _NO_WORDS.search(plain):
        return False
    return not due_day(plain, "dmy").value


_LOOKED_AT = 200
"""Letters of a cell by which it is judged."""
