"""Every spoken form of docs/vocabulary.md by what it is recorded as: tables that tests and recordings are made from.

They are written down from that page, not taken from the grammar files, so that a form which a grammar lost is missed.
"""

from __future__ import annotations

Forms = dict[str, str]
"""What is recorded → its spoken forms with "|" between them."""

FOOT_FINDINGS: Forms = {
    "sound": "sound|fine|good|nothing wrong|clean|normal",
    "overgrown": "overgrown|long|long toe|grown over",
    "hollow wall": "hollow wall|hollow|wall hollow|pocket in the wall|separated wall",
    "crack": "crack|cracked|split wall",
    "packed dirt": "packed dirt|muck in it|packed muck|dirt in the line",
    "abscess": "abscess|pus|toe abscess",
    "scald": "scald|sore skin",
    "foot rot": "foot rot|rot|smells rotten|under run",
    "loose horn": "loose horn|flap|loose sole",
    "swelling": "swelling|swollen|puffy",
    "heat": "heat|hot",
    "bleeding": "bleeding|bled|nicked|drew blood",
    "foreign body": "foreign body|stone|thorn|nail",
    "growth": "growth|granuloma",
    "hard horn": "hard horn|hard as rock|too hard",
    "soft horn": "soft horn|soft|wet horn",
    "uneven": "uneven|bulge|lopsided",
    "damp skin": "damp skin",
    "lame": "lame|limping",
}
BETWEEN_FINDINGS: Forms = {
    "scald": "raw between the claws|red between the claws|scald between the claws",
    "growth": "lump between the claws|growth between the claws",
    "damp skin": "wet between the claws",
}
"""Forms that name the part as well."""
ACTIONS: Forms = {
    "trimmed": "trimmed|clipped|cut|done|tidied|edges off",
    "pared back": "pared back|cut back|taken down",
    "cleaned out": "cleaned out|picked out|scraped",
    "cut out": "cut out|cut the crack out|opened",
    "drained": "drained|let the pus out",
    "sprayed": "sprayed|spray",
    "foot bathed": "foot bathed|bathed",
    "bandaged": "bandaged|wrapped",
    "left alone": "left alone|not touched|leave it",
    "treated": "treated",
    "isolated": "isolated|kept in|penned",
}
GRADES: Forms = {
    "slight": "slight|a little|a bit|mild",
    "moderate": "moderate",
    "severe": "severe|bad|badly|really bad",
}
FEET: Forms = {
    "left fore": "left fore|left front|near fore|near front",
    "right fore": "right fore|right front|off fore|off front",
    "left hind": "left hind|left back|near hind|near back",
    "right hind": "right hind|right back|off hind|off back",
}
SETS: Forms = {
    "fores": "both fores|both front feet",
    "hinds": "both hinds|both back feet",
    "all": "all four|all four feet",
    "near": "near side",
    "off": "off side",
}
PARTS = "between the claws|inner claw|outer claw|toe|heel|sole|wall|white line"
BODY_PLACES: Forms = {
    place: place
    for place in (
        *("left udder", "right udder", "left teat", "right teat", "udder", "left horn", "right horn"),
        *("left eye", "right eye", "mouth", "coat"),
    )
}
ELSEWHERE: Forms = {
    "extra teat": "extra teat",
    "split teat": "split teat|double teat",
    "blind teat": "blind teat",
    "lump": "lump",
    "hot udder": "hot udder",
    "uneven udder": "uneven udder",
    "scur or ingrown horn": "scur|ingrown horn|horn growing in",
    "runny eye": "runny eye",
    "cough": "cough",
    "scour": "scour|dirty behind",
    "lice": "lice",
    "wound": "wound",
    "thin": "thin",
    "fat": "fat",
    "lame": "lame|limping",
}
"""Each alone, with no place open."""
BODY_REMARKS: Forms = {
    "left teat: extra teat": "extra teat on the left|left teat extra teat",
    "right teat: split teat": "split teat on the right|double teat on the right|right teat split teat|right teat split",
    "left teat: blind teat": "blind teat on the left|left teat blind|left teat blind teat",
    "left udder: lump": "left udder lump|lump in the left udder",
    "right udder: hot udder": "right udder hot|right udder hot udder",
    "udder: hot udder": "udder hot",
    "udder: uneven udder": "udder uneven",
    "udder: sound": "udder fine|udder sound|udder soft",
    "left horn: scur or ingrown horn": "left horn scur|left horn growing in|horn growing in on the left",
    "right horn: scur or ingrown horn": "right horn ingrown|right horn growing in",
    "right horn: bleeding": "right horn bleeding",
    "left eye: runny eye": "left eye runny|runny eye on the left|left eye runny eye",
    "right eye: wound": "right eye wound|right eye cut",
    "right eye: sound": "right eye fine|right eye clean",
    "mouth: sound": "mouth fine|mouth clean|mouth normal",
    "mouth: wound": "mouth wound|mouth cut",
    "coat: lice": "coat lice",
    "coat: sound": "coat fine|coat good",
}
FOLLOW_UPS: Forms = {
    "re-check": "check her|check him|check her again|check him again|recheck|look at her again|see her again",
    "vet": "vet to look|vet to see her|call the vet|get the vet",
    "re-trim when soft": "do it when she's softened|trim her when she's soft|do it when it's softer",
    "move": "move her|move him",
}
TIMES: Forms = {
    "14": "in two weeks|in a fortnight|in fourteen days",
    "7": "in a week|in seven days|next week",
    "10": "in ten days",
    "3": "in three days",
    "21": "in three weeks|in twenty one days",
    "30": "in a month|in thirty days|next month",
    "42": "in six weeks",
    "60": "in two months",
    "1": "tomorrow",
}
TRAITS: Forms = {
    "keep no daughters": "keep no daughters|don't keep her daughters|do not keep her daughters|no daughters",
    "use another sire": "use another sire|different billy this time|another billy next time|different ram this time",
    "watch feed before birth": "watch feed before birth|watch her feed before kidding|watch her feed before lambing",
    "do not breed": "do not breed|don't breed from her|don't breed her|not for breeding",
    "keep as breeder": "keep as breeder|keep her as a breeder|keep her for breeding|good breeder",
}
COLOURS = "blue|red|green|yellow|orange|purple|pink|black|white"
EAR_TAGS: Forms = {
    "missing": "tag missing|tag gone|lost her tag|no tag",
    "replaced": "tag replaced|replaced the tag|replaced her tag",
    "new": "new tag|new tag in",
}
CONDITIONS: Forms = {
    "1": "one",
    "1.5": "one and a half",
    "2": "two",
    "2.5": "two and a half|two point five",
    "3": "three",
    "3.5": "three and a half|three point five",
    "4": "four",
    "4.5": "four and a half",
    "5": "five",
}
MEASURES: Forms = {
    "condition": "condition|condition score|body condition",
    "lameness": "lame score|lameness|lameness score",
    "weight": "weight",
    "temperature": "temperature",
}
WEIGHTS: Forms = {
    "52": "fifty two kilos|fifty two",
    "47.5": "forty seven and a half kilos|forty seven point five kilos",
    "61": "sixty one kilos",
    "8": "eight kilos",
    "70": "seventy kilos|seventy",
    "102": "a hundred and two kilos|one hundred and two kilos",
}
TEMPERATURES: Forms = {
    "39": "thirty nine",
    "39.5": "thirty nine point five|thirty nine and a half",
    "40.2": "forty point two",
    "38.7": "thirty eight point seven",
    "41": "forty one",
}
COMMANDS: Forms = {
    "done": "done|she's done|he's done|all done|off you go|let her go|let him go",
    "skip": "skip|skip her|skip him|leave her out|leave him out|not today",
    "scratch": "scratch|scratch that|undo|undo that|take that back",
    "repeat": "repeat|say that again|what was that",
    "pause": "pause|stop listening|hold on",
    "resume": "resume|carry on|start listening",
    "finish": "finish|that's the lot|end the session",
    "note": "note|remember",
    "yes": "yes|right|correct|that's it",
    "no": "no|wrong|neither|neither of them|none of them",
    "first": "the first one|the first|first one|first",
    "second": "the second one|the second|second one|second",
    "next": "next",
}
CORRECTIONS = "correction|no i mean|make that|no"
QUESTIONS: Forms = {
    "who is left": "who is left|who's left|who is not done|who's not done|how many to go",
    "last time": "what did she have last time|what did he have last time",
    "last time, trimmed": "when was she last trimmed|when was he last trimmed",
    "history, left hind": "what did she have on the left hind|what about the left hind",
    "count, hollow wall": "how many hollow walls today|how many hollow walls",
    "count, abscess": "how many abscesses today",
    "count, crack": "how many cracks today",
    "count, scald": "how many scald today",
    "count, foot rot": "how many foot rot today",
    "due": "who is due|who's due",
    "where am i": "what foot are we on|where am i|which foot are we on",
}
SKIP_REASONS: Forms = {
    "heavily pregnant": "she's heavy in kid|heavy in lamb|she's heavy in lamb|heavily pregnant",
    "unwell": "she's poorly|he's ill",
}


def listed(table: Forms) -> list[tuple[str, str]]:
    """Each spoken form with what it is recorded as."""
    return [(form, value) for value, forms in table.items() for form in forms.split("|")]
