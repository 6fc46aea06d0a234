"""English words of shops' sheets: common practice, collected from memory."""

from __future__ import annotations

from logbook.vocabulary.sheet_words.language import Language

ENGLISH = Language(
    name="English",
    headings={
        "run_ref": "run no, run number, run id, run, log no, log number, entry no, sheet no",
        "finished_at": "date, day, finished, finish, date finished, finish date, run date, date "
        "run, completed, date completed, completion date, sewn on, date sewn, end date, when, "
        "dt",
        "time_of_day": "time, finish time, end time, time finished, time out, finished at time, "
        "end, clock, stop time, time end",
        "site": "site, plant, location, shop, branch, factory",
        "machine": "machine, m/c, mc, mach, mach no, machine no, machine number, m/c no, m/c #, "
        "machine #, embroidery machine, station, line, machine id",
        "operator": "operator, op, oper, opr, worker, sewer, embroiderer, initials, by, who, "
        "name, operator name, run by, sewn by, staff, employee",
        "job": "job, order, job no, job number, job #, order no, order number, order #, po, "
        "p.o., wo, work order, ticket, ticket no, job id, ord, ord no, po #, wo #, job ref",
        "customer": "customer, client, account, customer name, cust, sold to",
        "design": "design, design name, logo, artwork, design no, design file, pattern, art, "
        "file, file name, dst, logo name, emblem",
        "thread": "thread, thread type, thread brand, thread colour, thread color, yarn, top "
        "thread",
        "head_count": "heads, no of heads, # heads, heads run, heads running, heads used, hds, "
        "nr heads",
        "fabric": "fabric, garment, garment type, item, product, style, material, goods, cloth, "
        "article, substrate, item description, garment style, blank",
        "fabric_shade": "shade, fabric shade, garment shade, colour, color, garment colour, "
        "garment color, fabric colour, fabric color, lt/dk",
        "fabric_sheer": "sheer, sheer fabric, see through",
        "fabric_lot": "fabric lot, garment lot, cloth lot, dye lot, goods lot",
        "backing": "backing, stabilizer, stabiliser, stab, backing type, stabilizer type, bkg, "
        "stabiliser type, back, backing used, pellon, support",
        "backing_gsm": "weight, backing weight, gsm, g/m2, stabilizer weight, backing gsm, wt, "
        "bkg wt, backing wt",
        "backing_oz_yd2": "backing oz, oz, oz weight, weight oz, backing weight oz, stab oz",
        "backing_layers": "layers, ply, plies, no of layers, sheets, backing layers, # layers, "
        "lyrs, layers of backing",
        "backing_shade": "backing colour, backing color, stabilizer color, stabiliser colour, "
        "backing shade",
        "backing_supplier": "supplier, vendor, backing supplier, backing vendor, stabilizer "
        "supplier, stabiliser supplier, brand, backing brand, make, mfr, from, bought from, "
        "supp",
        "backing_lot": "lot, lot no, backing lot, roll, roll no, batch, batch no, lot #, roll "
        "#, stabilizer lot, bkg lot, backing roll",
        "topping": "topping, topper, film, solvy, top film, top",
        "hooping": "hooping, hoop, hooped, hoop type, framing, hooping method, frame",
        "needle_nm": "needle, needle size, ndl, needle no, needle nm, ndl size, needles",
        "needle_point": "needle point, point, needle type, tip, ndl point",
        "needle_changed": "new needle, needle changed, needle change, needles changed, fresh "
        "needle, ndl chg",
        "speed_spm": "speed, spm, rpm, stitches/min, machine speed, sew speed, run speed, "
        "stitches per minute, st/min",
        "density": "density, stitch density, stitches/mm2",
        "row_spacing_mm": "row spacing, spacing, line spacing",
        "stitches_per_piece": "stitches per piece, stitch count, st count, st ct, stitches/pc, "
        "stitches each, st/pc, design stitches, sts, sts/pc, stitches per pc, stitch ct",
        "stitches_sewn": "stitches sewn, total stitches, stitches total, tot stitches, ttl "
        "stitches",
        "stitches": "stitches, stitch, st",
        "pieces_sewn": "pieces, pcs, prod, prod qty, qty, quantity, pieces sewn, qty sewn, "
        "sewn, produced, made, count, units, output, pcs sewn, total pcs, pieces run, qty "
        "run, pc, amount, pcs run, total pieces, qnty, quan",
        "pieces_inspected": "inspected, checked, qty inspected, pieces inspected, pcs checked, "
        "pieces checked, insp, qty checked, qc'd, examined, inspected qty, qc qty",
        "pieces_good": "good, good pieces, good pcs, ok, passed, qty good, accepted, first "
        "quality, pass",
        "pieces_spoiled": "spoiled, scrap, scrapped, spoils, spoilage, ruined, trashed, thrown "
        "away, waste, written off, damaged, misprints, seconds",
        "pieces_reworked": "reworked, rework, redone, repaired, fixed, redo, re-run, mended, "
        "touch ups",
        "pieces_defective": "rejects, reject, rejected, defective, defects, bad, ng, faulty, "
        "fails, failed, rej, bad pcs, bad pieces, defect qty, reject qty, no. rejected, qty "
        "rejected, total defects, faults, nok, # bad, # rejects, rejs, fail",
        "pieces_returned": "returned, returns, came back, sent back, customer returns",
        "rework_minutes": "rework time, rework min, rework minutes, repair time, fix time",
        "run_minutes": "run time, time, minutes, min, mins, duration, time taken, run min, "
        "runtime, hours, hrs, run minutes, sewing time, cycle time, length of run",
        "needle_parts_found": "needle parts found, all parts found, parts found, needle found, "
        "needle recovered, all pieces of needle found",
        "seen_at": "seen at, judged, judged when, checked at, stage, when checked, inspected at",
        "pucker_grade": "pucker grade, smoothness, grade, pucker rating",
        "notes": "notes, note, remarks, remark, comments, comment, remarks/notes, memo, other, "
        "misc",
        "shift": "shift, shft, turn, crew",
        "reasons": "reason, reasons, why, cause, fault, problem, problems, issue, issues, "
        "defect, defect type, reject reason, reason for reject, reasons for rejects, what "
        "went wrong, defect reason, reason code, what, defects found, faults found, trouble, "
        "qc notes, quality issues, reject reasons, type of defect, details of defects",
    },
    choices={
        "backing.none": "none, no backing, nothing",
        "backing.cut_away": "cut away, c/a, cutwy, cuttaway, ca",
        "backing.tear_away": "tear away, t/a, tearwy, tearway, ta",
        "backing.sheer_mesh": "no show mesh, pcm, nsm, powermesh, power mesh",
        "backing.adhesive": "peel and stick, sticky back",
        "topping.water_soluble_film": "solvy, topper, yes, y, film, x",
        "topping.none": "none, no, n, nil",
        "fabric_shade.light": "white, wht, cream, ivory, ash, natural, lt, pastel, light",
        "fabric_shade.mid": "mid, med, medium",
        "fabric_shade.dark": "black, blk, navy, nvy, dk, dark, charcoal",
        "hooping.hooped": "hooped, hoop, ring, round, tubular, std, standard, std hoop",
        "hooping.floated": "float, floated",
        "hooping.clamped": "clamp, clamped, magnet, magnetic, mag, cap frame, cap driver, mag hoop",
        "hooping.adhesive": "sticky, spray, sprayed, stuck",
        "needle_point.sharp": "sharp, s, rs, r",
        "needle_point.light_ball": "bp, ball, ballpoint, ball point, light ball, lbp, ffg, ses",
        "needle_point.medium_ball": "medium ball, mbp, suk",
        "seen_at.washed": "after wash, washed, wash",
        "seen_at.in_hoop": "in hoop, hoop, on machine",
        "seen_at.off_hoop": "off hoop, trim, trim table, trimming, qc, table",
        "seen_at.pressed": "pressed, steamed, after press, press",
        "backing_shade.white": "white, wht, w, wh",
        "backing_shade.black": "black, blk, b, bk",
        "backing_shade.beige": "beige, nude, skin, tan",
    },
    kinds={
        "puckering": "pucker, puckers, puckered, puckering, puckerd, wrinkle, wrinkles, "
        "wrinkled, wrinkling, gathered, gathering, rippling, ripples, rippled, cupping, "
        "cupped, drawn in, puck, pckr",
        "gaps": "gap, gaps, gapping, registration, misregistration, mis registration, mis reg, "
        "misreg, out of registration, out of register, bad registration, registration off, "
        "reg off, outline off, outlines off, not lining up, not lined up, off register, bad "
        "reg, poor registration",
        "shadowing": "backing shows, backing showing, show through, shows through, showing "
        "through, shadow, shadows, shadowing, backing visible, backing seen, backing show "
        "through, backing shows through",
        "sinking": "sinking, sunk, sunken, sank, sinking stitches, sinking in, buried, lost "
        "lettering, lost letters, sunk in, pile poking through, pile through",
        "coverage": "coverage, poor coverage, thin coverage, thin fill, ground showing, ground "
        "shows, fabric showing, fabric shows, fabric showing through, grin, grinning, bad "
        "coverage, low coverage, shirt showing, shirt showing through",
        "looping": "loop, loops, looping, looped, loopy, loose loops, loose stitches, loose "
        "stitching, loose thread on top, looping stitches",
        "bobbin_showing": "bobbin showing, bobbin shows, bobbin on top, bobbin up, bobbin, "
        "bobbin thread, bobbin thread on top, white specks, bobbin showing on top, bobbin "
        "pulling up, bobbin thread showing, bobbin coming up, bobbin visible",
        "skipped_stitches": "skipped stitch, skipped stitches, skipped, skips, skip, skipping, "
        "missed stitch, missed stitches, missing stitch, missing stitches, skip stitches, "
        "skip stitch",
        "hoop_marks": "hoop mark, hoop marks, hoop burn, hoop burns, hoop ring, hoop rings, "
        "ring mark, ring marks, frame mark, frame marks, hoopburn, hoop shine",
        "needle_cuts": "needle cut, needle cuts, needle hole, needle holes, cut by needle, "
        "needle damage, holes round design, holes around design, needle cutting",
        "misplacement": "misplaced, misplacement, placement, placement off, off placement, "
        "wrong placement, off centre, off center, off-centre, off-center, crooked, not "
        "straight, wrong position, wrong place, slanted, tilted, bad placement, out of "
        "position, placed wrong, not centered, not centred",
        "trimming_damage": "trim damage, trimming damage, cut while trimming, cut in trimming, "
        "cut trimming, snipped, scissor cut, scissor cuts, nicked, nick, nicks, trim cut, "
        "trim cuts, cut at trimming, cut when trimming",
        "soiling": "soil, soiled, soiling, oil, oil spot, oil spots, oil stain, oil stains, oil "
        "mark, oil marks, oily, stain, stains, stained, dirty, dirt, grease, scorch, "
        "scorched, scorch mark, scorch marks, glue marks, pen mark, pen marks, dirty mark, "
        "dirty marks",
        "fabric_faults": "fabric fault, fabric faults, fabric flaw, fabric flaws, mill fault, "
        "mill flaw, mill defect, bad garment, bad garments, garment fault, garment faults, "
        "garment flaw, garment defect, garment damaged, bad blank, bad blanks, fabric defect, "
        "fabric defects, flaw in garment, defective garment, mill faults",
        "thread_breaks": "thread break, thread breaks, thread brk, thread brks, thr break, thr "
        "breaks, thr brk, tb, tbs, th break, th breaks, broken thread, broken threads, thread "
        "broke, breaks, break, top thread break, top thread breaks, th brk, thd brk, thd "
        "breaks, thread breakage",
        "needle_breaks": "needle break, needle breaks, broken needle, broken needles, needle "
        "broke, needle brk, ndl break, ndl breaks, ndl brk, needle broken, needle breakage, "
        "snapped needle",
        "bird_nests": "bird nest, bird nests, birdnest, birdnests, birds nest, bird's nest, "
        "nest, nests, nesting, birdnesting, thread nest, bird nesting",
    },
    numbers={
        "one": 1,
        "two": 2,
        "three": 3,
        "four": 4,
        "five": 5,
        "six": 6,
        "seven": 7,
        "eight": 8,
        "nine": 9,
        "ten": 10,
        "eleven": 11,
        "twelve": 12,
        "a": 1,
        "an": 1,
        "once": 1,
        "twice": 2,
    },
    months=("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"),
    weekdays=("mon", "tue", "wed", "thu", "fri", "sat", "sun"),
    yes="yes, y, true, t, x, 1, ok, done, found, ja, si, yep, yeah, on, ✓, ✔, √, all found, all",
    no="no, n, false, f, 0, nope, not, off, ✗, ✘, missing, not found, nein",
    none_found="none, nil, ok, okay, no, clean, good, nothing, no defects, no rejects, zero, "
    "fine, all good, all ok, no faults, no problems, no issues, perfect, no problem, no "
    "defect, 0",
    seen="few, a few, some, several, couple, a couple, many, lots, lots of, a lot, bit, a bit, "
    "a bit of, slight, slightly, minor, bad, badly, heavy, all, most, various, "
    "occasional, again",
    totals="total, totals, sum, subtotal, sub total, sub-total, grand total, week total, month "
    "total, average, avg, mean, running total, ytd, ttl, tot, weekly total, monthly "
    "total, max, min",
    usual="usual, as usual, same, std, standard, normal, regular, default, same as usual, the "
    "usual, as always",
    fillers="pcs, pc, pieces, piece, pce, pces, times, time, x, of, off, with, the, were, was, "
    "due, to, on, had, for, because, shirts, polos, caps, garments, in, at, rejected, "
    "spoiled, reworked, units, qty, had to, because of, due to, from, this, run, ea, each",
    joins="and, plus, then, also",
    hours="hours, hour, hrs, hr, h",
    minutes="minutes, minute, mins, min, m",
)
