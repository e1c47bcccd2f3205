"""Words around the readings: places, ways to begin, to correct and to hedge."""

# Abbreviations: what a synthesiser is given, and what a transcript shows.
SPELLED = {
    "ac": ("A C", "AC"), "a c": ("A C", "AC"), "a/c": ("A C", "A/C"), "egr": ("E G R", "EGR"),
    "e g r": ("E G R", "EGR"), "cv": ("C V", "CV"), "c v": ("C V", "CV"), "dtv": ("D T V", "DTV"),
    "d t v": ("D T V", "DTV"), "u": ("U", "U"), "cca": ("C C A", "CCA"), "c c a": ("C C A", "CCA"),
}  # fmt: skip
PLACES = {
    "side": ("left", "right", "driver side", "passenger side"),
    "axle": (
        "front",
        "rear",
        "steer axle",
        "drive axle",
        "axle one",
        "axle two",
        "axle three",
        "second axle",
    ),
    "level": ("upper", "lower"),
    "face": ("inner", "outer", "inboard", "outboard"),
    "spot": ("inside", "middle", "outside", "center"),
    "index": (),
}
STARTERS = (
    "",
    "",
    "",
    "",
    "okay, ",
    "next, ",
    "now ",
    "all right, ",
    "and ",
    "then ",
    "looking at the ",
    "checking the ",
)
CORRECTIONS = (
    "no, make that", "correction,", "scratch that,", "I mean", "sorry,", "no wait,", "take that back,",
    "actually", "no,",
    "strike that,", "make it",
)  # fmt: skip
# Spellings that a dictionary would not have.
MISSPELLED = ("siezed", "calliper", "centre", "bush", "you bolt", "you joint")
LEADS = (
    *("", "", "", "", "", "I got "),
    *("I've got ", "that's ", "we're at ", "comes in at ", "it reads ", "it's ", "showing "),
    *("sitting at ", "measured ", "I'm seeing ", "right at ", "call it "),
    *("has ", "with ", "only ", "down to ", "still "),
)
TAILS = (
    *("", "", "", "", "", ""),
    *("", " of movement", " on the gauge", " with the weight off", " by the dial", " on it"),
    *(" remaining", " left", " cold", " warm"),
    *(" with the engine running", " at idle", " and steady", " at the tip"),
)
SHORT_PLACES = (
    *("left outer", "left inner", "right outer", "right inner"),
    *("outer", "inner", "left front outer", "upper", "lower"),
    *("left upper", "right lower", "left front", "right front"),
    *("left rear", "right rear", "left", "right", "front"),
    *("rear", "outside", "middle", "inside"),
    *("axle one left", "axle two right", "driver side", "passenger side"),
)
AGAIN = (
    *("same on the right", "same on the left", "same on the other side", "both sides", "both sides are good"),
    *("all the way across", "all four the same", "same all the way around", "the other way, same thing"),
    *("the other way", "right side the same", "even across", "left and right both good", "no play"),
    *("not leaking", "no leaks", "no cracks"),
)
HEDGES = ("", "", "", "", "", "about ", "around ", "just over ", "just under ", "maybe ", "right at ")
