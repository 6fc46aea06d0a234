"""German words of shops' sheets: common practice, collected from memory."""

from __future__ import annotations

from logbook.vocabulary.sheet_words.language import Language

GERMAN = Language(
    name="German",
    headings={
        "run_ref": "lauf nr, laufnummer, lfd nr, laufende nummer, nr, beleg, belegnr, lauf",
        "finished_at": "datum, tag, fertig am, fertig, gestickt am, beendet, beendet am",
        "time_of_day": "uhrzeit, uhr, zeit, ende, fertig um",
        "site": "standort, werk, betrieb",
        "machine": "maschine, masch, maschinen nr, maschinennr, maschinen-nr, stickmaschine, "
        "masch nr",
        "operator": "bediener, sticker, stickerin, mitarbeiter, bedienerin, name, kürzel, wer, "
        "personal",
        "job": "auftrag, auftragsnr, auftrags-nr, auftragsnummer, auftrag nr, bestellung, auftr",
        "customer": "kunde, kundin, auftraggeber, kundenname",
        "design": "motiv, muster, stickmotiv, design, datei, stickdatei",
        "thread": "garn, faden, stickgarn, oberfaden, garnsorte",
        "head_count": "köpfe, koepfe, anzahl köpfe, kopfzahl",
        "fabric": "stoff, ware, textil, artikel, bekleidung, gewebe, material",
        "fabric_shade": "farbton, farbe, stofffarbe, helligkeit, warenfarbe",
        "backing": "vlies, stickvlies, unterlage, einlage, vliesart, unterlegvlies",
        "backing_gsm": "gewicht, vliesgewicht, grammatur, g/qm",
        "backing_layers": "lagen, anzahl lagen, vlieslagen, schichten",
        "backing_shade": "vliesfarbe",
        "backing_supplier": "lieferant, vlieslieferant, hersteller, marke",
        "backing_lot": "charge, los, rolle, chargennr, rollen nr, vliescharge",
        "topping": "folie, deckfolie, topping, oberfolie, avalonfolie",
        "hooping": "rahmen, einspannung, spannung, eingespannt, spannart",
        "needle_nm": "nadel, nadelstärke, nadelstaerke, nadel nm, nadelgröße",
        "needle_point": "nadelspitze, spitze",
        "needle_changed": "neue nadel, nadel gewechselt, nadelwechsel",
        "speed_spm": "tempo, drehzahl, geschwindigkeit, stiche/min, u/min, stiche pro minute",
        "density": "dichte, stichdichte",
        "stitches_per_piece": "stiche je stück, stiche/stück, stichzahl, stiche pro stück, "
        "stichanzahl",
        "stitches_sewn": "stiche gesamt, gesamtstiche, stiche insgesamt",
        "stitches": "stiche",
        "pieces_sewn": "stück, stueck, stk, menge, anzahl, stückzahl, gestickt, teile, produziert",
        "pieces_inspected": "geprüft, geprueft, kontrolliert, geprüfte teile, prüfmenge, gepr",
        "pieces_good": "gutteile, gut, i.o., io, in ordnung, gut stück",
        "pieces_spoiled": "verdorben, schrott, vernichtet, weggeworfen, makulatur, ausgesondert",
        "pieces_reworked": "nacharbeit, nachgearbeitet, ausgebessert, repariert",
        "pieces_defective": "ausschuss, fehlerhaft, fehlteile, schlecht, schlechtteile, n.i.o., "
        "nio, beanstandet, fehler stück, ausschuß, fehleranzahl, reklamiert",
        "rework_minutes": "nacharbeitszeit",
        "run_minutes": "dauer, zeit, laufzeit, stickzeit, min, zeitdauer, minuten",
        "needle_parts_found": "nadelteile gefunden, alle teile gefunden",
        "seen_at": "geprüft bei, beurteilt, prüfstufe",
        "notes": "bemerkung, bemerkungen, notiz, notizen, anmerkung, anmerkungen, hinweis, "
        "sonstiges",
        "shift": "schicht",
        "reasons": "grund, gründe, gruende, fehler, fehlerart, ursache, ausschussgrund, "
        "problem, mangel, mängel, fehlerbild, fehlergrund, warum",
    },
    choices={
        "backing.none": "keins, kein, ohne, ohne vlies, kein vlies, keine",
        "backing.cut_away": "schneidvlies, abschneidvlies, schneide vlies, schneidevlies, "
        "abschneidbar",
        "backing.tear_away": "reißvlies, reissvlies, abreißvlies, ausreißvlies, abreißbar, reiß "
        "vlies, reiss vlies",
        "backing.water_soluble": "wasserlöslich, wasserlösliches vlies, auswaschvlies, "
        "solvyvlies, wasserloeslich",
        "backing.adhesive": "klebevlies, selbstklebend, haftvlies",
        "backing.sheer_mesh": "netzvlies, meshvlies, mesh",
        "topping.water_soluble_film": "folie, wasserlösliche folie, ja, wasserlöslich, avalon",
        "topping.none": "keine, ohne, nein, kein",
        "topping.heat_away_film": "hitzefolie, bügelfolie",
        "fabric_shade.light": "hell, weiß, weiss, creme, natur",
        "fabric_shade.mid": "mittel",
        "fabric_shade.dark": "dunkel, schwarz, marine, dunkelblau, anthrazit",
        "hooping.hooped": "gespannt, eingespannt, rahmen, ring",
        "hooping.floated": "aufgelegt, schwimmend",
        "hooping.clamped": "geklemmt, klemmrahmen, magnetrahmen, magnet, kappenrahmen",
        "hooping.adhesive": "geklebt, klebend, sprühkleber",
        "needle_point.sharp": "spitz, r, scharf",
        "needle_point.light_ball": "kugel, kugelspitze, leichte kugel, ses",
        "needle_point.medium_ball": "mittlere kugel, suk",
        "seen_at.washed": "nach wäsche, gewaschen, nach dem waschen",
        "seen_at.in_hoop": "im rahmen",
        "seen_at.off_hoop": "ausgespannt, putztisch",
        "seen_at.pressed": "gebügelt, gedämpft",
        "backing_shade.white": "weiß, weiss",
        "backing_shade.black": "schwarz",
        "backing_shade.beige": "haut, hautfarben",
    },
    kinds={
        "puckering": "kräuselung, kräuselungen, gekräuselt, kräuselt, kraeuselung, falten, "
        "wellen, wellig, faltenbildung, wellenbildung, verzogen, zieht zusammen",
        "gaps": "lücke, lücken, luecken, passer, passerfehler, passt nicht, versatz, kontur "
        "versetzt, passerdifferenz",
        "shadowing": "vlies sichtbar, vlies scheint durch, durchscheinen, scheint durch, vlies "
        "zu sehen",
        "sinking": "eingesunken, versunken, sinkt ein, einsinken, versinkt",
        "coverage": "deckung, schlechte deckung, deckt nicht, stoff sichtbar, stoff scheint "
        "durch, mangelnde deckung",
        "looping": "schlaufe, schlaufen, schlingen, schlinge, lose stiche, lose fäden",
        "bobbin_showing": "unterfaden, unterfaden sichtbar, unterfaden oben, unterfaden kommt hoch",
        "skipped_stitches": "fehlstich, fehlstiche, ausgelassene stiche, stich ausgelassen, "
        "stiche fehlen, aussetzer",
        "hoop_marks": "rahmenabdruck, rahmenabdrücke, rahmenspuren, ringabdruck, ringspuren, "
        "rahmenspur, abdruck vom rahmen",
        "needle_cuts": "nadelloch, nadellöcher, nadeleinstich, nadelschaden, nadelschäden",
        "misplacement": "schief, falsch platziert, position falsch, falsche position, "
        "verrutscht, nicht mittig, position, platzierung",
        "trimming_damage": "schnittschaden, eingeschnitten, angeschnitten, beim putzen "
        "geschnitten, schnitt",
        "soiling": "ölfleck, ölflecken, oelfleck, fleck, flecken, verschmutzt, schmutz, öl, "
        "verbrannt, bügelfleck, schmutzfleck, klebereste",
        "fabric_faults": "stofffehler, warenfehler, webfehler, strickfehler, ware fehlerhaft, "
        "fehler im stoff",
        "thread_breaks": "fadenbruch, fadenbrüche, fadenbrueche, fadenriss, fadenrisse, fb, "
        "faden gerissen, oberfadenbruch, fadenrißse",
        "needle_breaks": "nadelbruch, nadelbrüche, nadel gebrochen, nadelbrueche",
        "bird_nests": "fadennest, fadennester, nest, nester, vogelnest, fadenknäuel",
    },
    numbers={
        "ein": 1,
        "eine": 1,
        "einen": 1,
        "eins": 1,
        "einmal": 1,
        "zwei": 2,
        "zweimal": 2,
        "drei": 3,
        "dreimal": 3,
        "vier": 4,
        "fünf": 5,
        "sechs": 6,
        "sieben": 7,
        "acht": 8,
        "neun": 9,
        "zehn": 10,
        "elf": 11,
        "zwölf": 12,
    },
    months=(
        "jan|jän",
        "feb",
        "mär|mrz|maer",
        "apr",
        "mai",
        "jun",
        "jul",
        "aug",
        "sep",
        "okt",
        "nov",
        "dez",
    ),
    weekdays=("mo", "di", "mi", "do", "fr", "sa", "so"),
    yes="ja, j, gefunden, alle gefunden, wahr",
    no="nein, nicht, nicht gefunden, falsch, fehlt",
    none_found="keine, kein, nichts, i.o., io, ohne, in ordnung, alles gut, keine fehler, "
    "sauber, gut, ohne befund, o.b.",
    seen="einige, ein paar, paar, mehrere, viele, wenige, etwas, leicht, leichte, stark, alle, "
    "manche, wieder, vereinzelt",
    totals="summe, gesamt, gesamtsumme, zwischensumme, durchschnitt, mittelwert, insgesamt, "
    "wochensumme, monatssumme, schnitt",
    usual="wie immer, wie üblich, üblich, normal, standard, wie gehabt, gleich",
    fillers="stk, stück, teile, mal, x, von, mit, wegen, durch, am, im, bei, der, die, das, "
    "teil, hemden",
    joins="und, sowie, dann",
    hours="stunden, stunde, std, h",
    minutes="minuten, minute, min, m",
)
