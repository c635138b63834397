"""What is said in the demonstration session, by whom, and what it means: the table behind demo_audio/."""

from __future__ import annotations

from typing import NamedTuple

from meaning_table import BETWEEN, Flats, animal, asks, did, later, mark, measure, order, saw, tag, trait

US, GB, JOE = "hibari-us", "hibari-gb", "piper-joe"


class Line(NamedTuple):
    """One remark. `table` is the animal that it is about: that of its facts, else the one on the table after it."""

    voice: str
    table: str | None
    say: str
    expect: Flats


def block(voice: str, name: str | None, *rows: tuple) -> list[Line]:
    """Lines of one helper with one animal; a row of three says which animal it is about."""
    return [Line(voice, row[2] if len(row) == 3 else name, row[0], row[1]) for row in rows]


DONE = order("done")

LINES: list[Line] = [
    *block(US, None, ("Morning, did you get the hay in before the rain came?", [])),
    *block(
        US,
        "Tansy",
        ("Tag four one seven.", animal("417")),
        (
            "Left hind, hollow wall again, cut out, spray.",
            saw("LH", "hollow wall") + did("LH", "cut out") + did("LH", "sprayed"),
        ),
        ("Both fores overgrown, trimmed.", saw("fores", "overgrown") + did("fores", "trimmed")),
        ("Right hind fine.", saw("RH", "sound")),
        ("Between the claws clean.", saw("RH", "sound", BETWEEN)),
        ("Check her in two weeks.", later("re-check", 14)),
        ("Condition three and a half.", measure("condition", 3.5)),
        ("Scratch that, condition two and a half.", order("scratch") + measure("condition", 2.5)),
        ("Blue mark.", mark("blue")),
        ("Done.", DONE, None),
    ),
    *block(
        US,
        "Sorrel",
        ("Next is Sorrel.", order("next") + animal("Sorrel")),
        ("When was she last trimmed?", asks("last time", action="trimmed")),
        ("All four trimmed.", did("all", "trimmed")),
        ("Right fore, stone, picked out.", saw("RF", "foreign body") + did("RF", "cleaned out")),
        ("Left fore, slight crack, pared back.", saw("LF", "crack", grade="slight") + did("LF", "pared back")),
        ("Correction, right hind.", order("correct", place="right hind")),
        ("Left hind, wet between the claws.", saw("LH", "damp skin", BETWEEN)),
        ("Lame score two.", measure("lameness", 2)),
        ("Vet to look.", later("vet")),
        ("Condition three.", measure("condition", 3)),
        ("Done.", DONE, None),
    ),
    *block(US, None, ("Who's left?", asks("who is left"))),
    *block(
        GB,
        "Yarrow",
        ("Now Yarrow.", order("next") + animal("Yarrow")),
        ("Near fore, packed dirt, cleaned out.", saw("LF", "packed dirt") + did("LF", "cleaned out")),
        ("Off fore, nothing wrong.", saw("RF", "sound")),
        ("Both hinds long, clipped.", saw("hinds", "overgrown") + did("hinds", "trimmed")),
        ("Off hind, scald between the claws, sprayed.", saw("RH", "scald", BETWEEN) + did("RH", "sprayed")),
        ("What did she have on the left hind?", asks("history", place="left hind")),
        ("Check her again in ten days.", later("re-check", 10)),
        ("Split teat on the left.", saw("left teat", "split teat")),
        ("Don't keep her daughters.", trait("keep no daughters")),
        ("She's done.", DONE, None),
    ),
    *block(GB, None, ("I told him the trailer had a flat tyre again last Tuesday.", [])),
    *block(
        GB,
        "Campion",
        ("Four three one.", animal("431")),
        ("Left fore good.", saw("LF", "sound")),
        ("Right fore, loose horn, trimmed.", saw("RF", "loose horn") + did("RF", "trimmed")),
        ("Left hind, really bad abscess, drained.", saw("LH", "abscess", grade="severe") + did("LH", "drained")),
        ("Bathed, and bandaged.", did("LH", "foot bathed") + did("LH", "bandaged")),
        ("Vet to look tomorrow.", later("vet", 1)),
        ("What foot are we on?", asks("where am i")),
        ("Right hind, long toe, taken down.", saw("RH", "overgrown") + did("RH", "pared back")),
        ("Different billy this time.", trait("use another sire")),
        ("Done.", DONE),
        ("All four between the claws clean, done.", saw("all", "sound", BETWEEN) + DONE),
    ),
    *block(
        JOE,
        "Teasel",
        ("Next is Teasel.", order("next") + animal("Teasel")),
        ("All four fine.", saw("all", "sound")),
        ("Left fore, between the claws clean.", saw("LF", "sound", BETWEEN)),
        ("Right udder, lump.", saw("right udder", "lump")),
        ("Tag missing.", tag("missing")),
        ("Weight fifty two kilos.", measure("weight", 52)),
        ("Condition four.", measure("condition", 4)),
        ("Done.", DONE, None),
    ),
    *block(JOE, None, ("My sister is coming over on Sunday with the children.", [])),
    *block(
        JOE,
        "Betony",
        ("Betony.", animal("Betony")),
        ("Left fore, uneven, trimmed.", saw("LF", "uneven") + did("LF", "trimmed")),
        ("Right fore, too hard, leave it.", saw("RF", "hard horn") + did("RF", "left alone")),
        ("Do it when she's softened.", later("re-trim when soft")),
        ("Left hind, swollen, hot.", saw("LH", "swelling") + saw("LH", "heat")),
        ("Right hind, bleeding, sprayed.", saw("RH", "bleeding") + did("RH", "sprayed")),
        ("Scratch that.", order("scratch")),
        ("Right hind, a bit long, tidied.", saw("RH", "overgrown", grade="slight") + did("RH", "trimmed")),
        ("Between the claws clean.", saw("RH", "sound", BETWEEN)),
        ("Lame score one.", measure("lameness", 1)),
        ("How many hollow walls today?", asks("count", finding="hollow wall")),
        ("Let her go.", DONE, None),
    ),
    *block(
        JOE,
        "Mallow",
        ("Tag four four zero.", animal("440")),
        ("Skip her, she's heavy in kid.", order("skip", reason="heavily pregnant"), None),
    ),
    *block(US, None, ("We ran out of milk this morning so I had my tea black.", [])),
    *block(
        US,
        "Burdock",
        ("Next is Burdock.", order("next") + animal("Burdock")),
        ("Both fores fine.", saw("fores", "sound")),
        ("Left hind, crack, cut out.", saw("LH", "crack") + did("LH", "cut out")),
        ("Right hind, smells rotten, left alone.", saw("RH", "foot rot") + did("RH", "left alone")),
        ("Red between the claws.", saw("RH", "scald", BETWEEN)),
        ("Check him again in a fortnight.", later("re-check", 14)),
        ("Take that back.", order("scratch")),
        ("Check him in a month.", later("re-check", 30)),
        ("Red mark.", mark("red")),
        ("All done.", DONE, None),
    ),
    *block(
        GB,
        "Bryony",
        ("Next is Bryony.", order("next") + animal("Bryony")),
        ("Left front, grown over, cut back.", saw("LF", "overgrown") + did("LF", "pared back")),
        ("Right front fine.", saw("RF", "sound")),
        ("Left back, soft horn, trimmed.", saw("LH", "soft horn") + did("LH", "trimmed")),
        (
            "Right back, thorn between the claws, picked out.",
            saw("RH", "foreign body", BETWEEN) + did("RH", "cleaned out"),
        ),
        ("Hold on.", order("pause")),
        ("Yes the key is under the pot by the kitchen door.", []),
        ("Carry on.", order("resume")),
        ("Runny eye on the left.", saw("left eye", "runny eye")),
        ("Keep as breeder.", trait("keep as breeder")),
        ("Done.", DONE, None),
    ),
    *block(
        US,
        "Clover",
        ("Five one eight.", animal("518")),
        ("All four trimmed.", did("all", "trimmed")),
        ("Left hind, outer claw, hollow wall.", saw("LH", "hollow wall", "outer claw")),
        ("Say that again.", order("repeat")),
        ("Right hind, lump between the claws.", saw("RH", "growth", BETWEEN)),
        ("Watch her feed before lambing.", trait("watch feed before birth")),
        ("New tag.", tag("new")),
        ("Done.", DONE, None),
    ),
    *block(US, None, ("Who is due?", asks("due"))),
    *block(US, None, ("There was a fox down by the stream again last night.", [])),
    *block(US, None, ("That's the lot.", order("finish"))),
]
"""In the order of the session. Talk that is no remark expects nothing."""

REGISTER = """\
tag,number,name,species,sex,born,dam,sire,group,status,notes
HB 100388,388,Bramble,goat,male,2016-03-02,,,males,in herd,"calm in the crush"
HB 100402,402,Teasel,goat,female,2017-04-11,,,milkers,in herd,
HB 100411,411,Sorrel,goat,female,2018-03-19,,,milkers,in herd,"kicks with the left hind"
HB 100417,417,Tansy,goat,female,2019-03-12,,Bramble,milkers,in herd,"hollow walls in most years"
HB 100423,423,Yarrow,goat,female,2020-04-02,Sorrel,Bramble,milkers,in herd,
HB 100431,431,Campion,goat,female,2021-03-25,Tansy,Bramble,milkers,in herd,
HB 100438,438,Betony,goat,female,2022-03-30,Teasel,Bramble,milkers,in herd,
HB 100440,440,Mallow,goat,female,2022-04-04,Sorrel,Bramble,milkers,in herd,"due in three weeks"
HB 100445,445,Burdock,goat,male,2022-04-15,Teasel,,males,in herd,
HB 100452,452,Vetch,goat,female,2023-03-21,Yarrow,Burdock,young stock,in herd,
HB 100512,512,Bryony,sheep,female,2019-04-08,,,ewes,in herd,
HB 100518,518,Clover,sheep,female,2021-04-14,Bryony,,ewes,in herd,
HB 100527,527,Sedge,sheep,castrated,2022-04-20,Bryony,,ewes,in herd,"bell wether"
HB 100533,533,Comfrey,sheep,female,2022-04-22,,,ewes,in herd,
"""
"""The animals of Hazel Bank, an invented holding."""
