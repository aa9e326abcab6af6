"""What buyers write where words to cut are asked for, in the languages they write in: lists and patterns only.

Every list is common practice, no source: gathered from how people fill a box that must not stay empty. They are kept
narrow on purpose; a name that is caught for nothing costs a shop more trust than an instruction that a person sees on
the proof. In the patterns of this file a space stands for one space, and an apostrophe for a straight or curly one.
"""

from __future__ import annotations

import re


def _folded(*lines: str) -> frozenset[str]:
    return frozenset(p.strip().casefold() for line in lines for p in line.split(";") if p.strip())


def _any(*patterns: str) -> str:
    return "(?:" + "|".join(patterns).replace("'", "['\u2019]") + ")"


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE | re.DOTALL)


NOTHING = _folded(
    "n/a; n.a.; n. a.; n/a.; #n/a; none; nil.; nothing; not applicable; no text; no name; no names; no message",
    "no words; no engraving; no lettering; no personalisation; no personalization; no inscription; without",
    "without engraving; leave blank; left blank; leave empty; blank please; plain please; empty; undefined; #ref!",
    "#name?; #value!; [blank]; (blank); [none]; (none); nothing please; none please; no thanks; no thank you",
    "nothing thanks; none needed; not required; not needed",
    "kein; keine; keiner; keines; kein text; keine gravur; keine personalisierung; ohne; ohne gravur; ohne text",
    "nichts; entfällt; k.a.; k. a.; leer; leer lassen; nein danke",
    "aucun; aucune; rien; sans; sans texte; sans gravure; néant; pas de texte; pas de gravure; aucun texte; non merci",
    "ninguno; ninguna; sin; sin texto; sin grabado; sin mensaje; sin nombre; nada por favor; no gracias; en blanco",
    "vacío; geen; niets; geen tekst; geen gravure; geen naam; zonder; zonder tekst; zonder gravure; n.v.t.; nvt",
    "nee bedankt; leeg",
)
"""Whole cells that say there is nothing to cut."""

NOTHING_IN_CAPITALS = frozenset({"NA", "N.A", "NULL", "NIL", "NONE"})
"""Whole cells that say so in capitals only: Na, Null and Nil are names too, and Noné is one."""

PERHAPS_NOTHING = frozenset(
    [
        "na",
        "Na",
        "null",
        "Null",
        "nan",
        "NaN",
        "nil",
        "Nil",
        "Tba",
        "tba",
        "no",
        "No",
        "NO",
        "Blank",
        "blank",
        "BLANK",
        "x",
        "X",
        "xx",
        "xxx",
        "nada",
        "yes",
        "Yes",
        "YES",
        "test",
        "Test",
        "TEST",
        "ja",
        "Ja",
        "JA",
        "nein",
        "Nein",
    ]
)
"""Whole cells that may be a name and may be an empty answer. 'Nan' is a grandmother, and stays unasked."""

WITHOUT_LETTERS = re.compile(r"^[\s\-–—_.…,;:/\\*?!'\"()\[\]#+=~]+$")
"""Cells of punctuation alone; hearts, stars and other ornaments are words of their own."""

_TAIL = r"\b.{0,20}$"
"""What may follow a phrase that sends the reader elsewhere: a few words, not a sentence of the buyer's own."""

ELSEWHERE = _pattern(
    r"^\W*"
    + _any(
        r"same (?:as|like) (?:(?:the|my|our) )?(?:last|before|above|previous|first|other|earlier|order|row|#|usual\b).*",
        r"same (?:as|like) (?:(?:the|my|our) )?(?:(?:no|nr|number|box|lid)\b\.? ?)?#?(?:[a-z]{1,4}-?)?\d[\d-]*\W*$",
        r"(?:sent|e-?mailed|messaged|texted|given|agreed|discussed) (?:\w+ ){0,2}?(?:by|via|in|per|on|over) "
        r"(?:(?:the|a|my|our|your|private|direct) )*(?:e-?mail|mail|messages?|chat|phone|letter|notes?|text)\W*$",
        r"(?:the )?same (?:again|please|text|wording|name|message)\W*$",
        r"(?:same|ditto|idem|dito)\W*$",
        r"as (?:above|before|discussed|agreed|last time|usual)" + _TAIL,
        r"as per (?:my |our )?(?:e-?mail|message|chat|note|conversation|drawing)" + _TAIL,
        r"see (?:(?:my|the|our|attached|e-?mail) )*(?:notes?|below|above|messages?|e-?mail|attached|attachment)"
        + _TAIL,
        r"see (?:(?:my|the|our|attached) )*(?:comments?|file|photo|picture)" + _TAIL,
        r"to be (?:confirmed|advised|decided|discussed|announced)" + _TAIL,
        r"t\.?b\.?[cd]\.?(?:\W*| (?:by|with|later|after|soon|on)\b.{0,30})$",
        r"(?:i'll|i will|will) (?:e-?mail|message|send|let you know|text|confirm)"
        r"(?: (?:you|it|them|text|names?|wording|later|soon|details?|separately|in)\b.{0,30})?$",
        r"(?:will|to) follow\W*$",
        r"(?:awaiting|waiting for) (?:reply|answer|confirmation|customer|buyer|names?|text|details?|info)\b.{0,20}$",
        r"(?:not sure|don't know)(?: yet)?\W*$",
        r"siehe (?:oben|unten|anhang|notiz|nachricht|e-?mail|anmerkung|bemerkung|kommentar|hinweis|datei|foto|bild)"
        + _TAIL,
        r"s\. ?o\.$",
        r"wie (?:besprochen|oben|vorher|letztes mal|beim letzten|gehabt|immer|in der (?:mail|nachricht))" + _TAIL,
        r"(?:folgt(?: noch)?|wird nachgereicht)\W*$",
        r"gleiche[rs]? (?:text|name|wie)\b.*",
        r"(?:comme|idem) (?:la derni[èe]re fois|convenu|discut[ée]|ci-dessus|avant|d'habitude)" + _TAIL,
        r"voir (?:note|message|ci-dessous|ci-dessus|mail|e-?mail|pi[èe]ce)" + _TAIL,
        r"[àa] (?:confirmer|d[ée]finir|voir)\W*$",
        r"m[êe]me (?:texte|chose)\b.{0,30}$",
        r"(?:igual|lo mismo) que (?:la|el|antes|arriba|siempre)\b.*",
        r"como (?:la [úu]ltima vez|siempre|hablamos|acordado|se habl[óo])" + _TAIL,
        r"ver (?:nota|mensaje|correo|abajo|arriba)" + _TAIL,
        r"(?:por|a) confirmar\W*$",
        r"zelfde als .{0,30}",
        r"(?:het ?)?zelfde\W*$",
        r"zoals (?:besproken|afgesproken|vorige keer|hierboven|altijd)" + _TAIL,
        r"zie (?:opmerking|notitie|bericht|mail|bijlage|onder|boven|hieronder|hierboven)" + _TAIL,
        r"volgt(?: nog)?\W*$",
    )
    + r"\W*$"
)
"""Cells that send the reader elsewhere for the words. 'Same as it ever was' is a song's line and is not among them."""

TO_BE_ANNOUNCED = frozenset({"TBA", "T.B.A.", "t.b.a."})
"""The same in capitals or with full stops only: Tba may be short for a name."""

_DO = (
    r"(?:engrave|write|put|cut|carve|add|make|print|use|spell|personali[sz]e|burn|inscribe|leave|centre|center|include|"
    r"ensure|keep|change|can|could)\b"
)
_CARVE_DE = r"(?:gravieren|eingravieren|schreiben|einbrennen|fr[äa]sen|eingraviert|graviert)\b"

INSTRUCTION = _pattern(
    _any(
        r"\b(?:please|pls|plz|kindly)\W+(?:\w+\W+){0,2}?" + _DO,
        r"^\W*(?:can|could|would) you\b(?=.*\b(?:engrave|write|put|cut|carve|add|make|print|use|please)\b)",
        r"\b(?:engrave[ds]?|engraving|personali[sz]e[ds]?) (?:it |this |the |with\b|as\b|\w+:|names?\b)",
        r"\b(?:engrave[ds]?|personali[sz]e[ds]?) to (?:say|read)",
        r"\bengraved? on (?:the )?(?:lid|top|box)",
        r"^\W*engrave\b",
        r"^\W*(?:to|it should|should|must|i'd like it to|make it) (?:say|read)\b",
        r"\b(?:should|to) (?:say|read)\s*[:\"“]",
        r"^\W*(?:i would|i'd|we'd|we would) (?:like|love) (?:it|the|you|to have|this|an?)\b"
        r"(?=.*\b(?:engraved|lid|box|name|say|font|letters?|words)\b)",
        r"\bthank(?:s|\s?you) in advance\b",
        r"\bon (?:the )?(?:lid|box lid|underside|inside of the lid)\s*(?:please|:)",
        r"\b(?:bitte|b\.)\W+(?:\w+\W+){0,3}?" + _CARVE_DE,
        r"\bbitte (?:den|die|das|folgenden|nur|mit|in)\b",
        r"\bgravieren sie\b",
        r"\b(?:veuillez|merci de|pri[èe]re de) (?:graver|[ée]crire|mettre|inscrire|noter)\b",
        r"^\W*(?:graver|grabar|graveer)\b",
        r"\bs'il (?:vous|te) pla[îi]t\b",
        r"\bpor favor\W+(?:\w+\W+){0,2}?(?:grab\w+|escrib\w+|pon\w*)\b",
        r"\b(?:graag|gelieve)\W+(?:\w+\W+){0,6}?(?:graveren|gegraveerd|schrijven|zetten)\b",
        r"\balstublieft\W*$",
    )
)
"""Words addressed to the shop, not to the reader of the lid."""

_LABELS = _any(
    r"names?|text|message|engraving|inscription|wording|words|personali[sz]ation|initials|date|lettering|title|quote",
    r"verse|poem|(?:top|bottom|first|second|third|middle|last) line|line ?(?:\d|one|two|three)|front|lid",
    r"inside(?: lid)?|top|bottom|from|to engrave",
    r"gravur|nachricht|zeile ?\d|name auf (?:dem )?deckel|spruch|datum|inschrift",
    r"nom|pr[ée]nom|texte|ligne ?\d|gravure|nombres?|texto|mensaje|l[íi]nea ?\d|fecha",
    r"naam|namen|tekst|bericht|regel ?\d|opschrift",
)
LABEL = _pattern(rf"^\W*{_LABELS}\s*(?:[:=]|\s[-–]>?)\s*\S")
"""A cell that begins with what a form would call it: 'Name: Anna', 'Line 1: ...'."""

_STYLE = _any(
    r"script|cursive|italics?|bold|capitals?|caps|capital letters|block (?:letters|capitals)|upper ?case|lower ?case",
    r"small (?:letters|caps)|handwriting|handwritten|calligraphy|large letters|big letters",
    r"schreibschrift|kursiv|fett|großbuchstaben|kleinbuchstaben|blockschrift",
    r"majuscules?|minuscules?|italique|gras|cursiva|mayúsculas|minúsculas|negrita",
    r"hoofdletters|kleine letters|schuinschrift",
)
_TYPE = r"(?:font|typeface|schrift|schriftart|police|lettertype|tipo de letra|centred|centered)"
STYLE = _pattern(
    _any(
        rf"\([^()]*\b(?:{_STYLE}|{_TYPE})\b[^()]*\)",
        rf"(?:\bin|\ben|\bmit|\bauf|,| [-–]) +(?:(?:all|nice|an?|the|{_STYLE}|and|und|et|y|en) +)*\b{_STYLE}"
        r"(?: (?:letters|writing|font|style|text|please|bitte|lettering|type))*\W*$",
        r"\b(?:in|use|using|with) (?:\w+ ){1,3}?font\b",
        r"\bfont ?(?::|#|\d|no\b|number\b)",
        r"\b(?:police|schriftart|lettertype|typeface)\s*:",
    )
)
"""A wish for a typeface, case or place, in the words themselves."""

LENGTH = _pattern(
    _any(
        r"(?<![\w.,/])\d+(?:[.,]\d+| ?\d?/\d+)?[ -]?(?:mm|cm|inch(?:es)?|zoll|pouces?|pulgadas?)\b",
        r"\d ?(?:\"|”|″|in\.?) (?:letters?|lettering|tall|high|wide|big|text)\b",
        r"\b(?:font size|size|schriftgröße|taille) ?:? ?\d+ ?(?:pt|mm|cm|punkt)?\b",
    )
)
"""A size that was asked for, written among the words."""

CONTACT = _pattern(
    _any(
        r"[\w.+-]+@[\w-]+\.\w{2,}",
        r"\bhttps?://\S+",
        r"\bwww\.[\w-]\S*",
        r"(?<![\w@.])[a-z0-9-]{2,}\.(?:com|net|org|info|io|co\.uk|de|fr|nl|es|eu|ch|at)(?:/\S*)?(?![\w.])",
    )
)
"""An e-mail address or a page of the net."""

PHONE = re.compile(r"(?<![\w/.,])(?:\+|00?)[\d][\d\s()-]{6,}\d(?![\w/.,])")

WISH = _pattern(
    r"\b"
    + _any(
        r"happy (?:birthday|anniversary|christmas|retirement|wedding|father|mother|new|\d+)",
        r"merry christmas|congratulations|congrats|with (?:all )?(?:my |our )?love|lots of love|all (?:our|my) love",
        r"best wishes|in loving memory|love from|get well|well done",
        r"to my (?:dear|darling|wife|husband|mum|dad|mother|father)",
        r"alles gute|herzlichen glückwunsch|frohe weihnachten|in liebe",
        r"joyeux (?:anniversaire|noël)|bon anniversaire|avec (?:tout )?(?:mon|notre) amour|félicitations",
        r"feliz (?:cumplea[ñn]os|navidad|aniversario)|felicidades|con (?:todo )?(?:mi )?(?:amor|cariño)",
        r"gefeliciteerd|van harte|fijne verjaardag|met liefde",
    )
    + r"\b"
)
"""What one writes to somebody one is fond of: words for a lid or for a card, not for a shop."""

TO_CUT = _pattern(
    _any(
        r"\b(?:engrav\w*|personali[sz]\w*|lettering|inscri\w+|carve|initials|should (?:say|read)|to say)\b",
        r"\b(?:spelled|spelt|spelling|instead of|on the lid)\b",
        r"\b(?:gravur\w*|gravier\w*|eingravier\w*|beschrift\w*|graver\w*|gravure|gegraveerd)\b",
        r"\b(?:grabar|grabado|inscripci[óo]n)\b",
        r"\b(?:please|bitte|merci de|por favor|graag)\b.*"
        r"\b(?:names?|text|words?|letters?|write|put|add|schreiben|[ée]crire|escribir|schrijven)\b",
        r"^\W*(?:name|text|message|nom|nombre|naam|line ?\d)\s*:",
    )
)
"""A remark that asks for words on the lid, or changes them."""
