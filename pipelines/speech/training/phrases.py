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
    *("", "", "", "", "", "", "okay, ", "next, ", "now ", "all right, ", "and ", "then ", "and the "),
    *(
        "looking at the ",
        "checking the ",
        "moving to the ",
        "over to the ",
        "on the ",
        "for the ",
        "back on the ",
    ),
    *("let's see, ", "up front, ", "got the ", "this "),
)
CORRECTIONS = (
    *("no, make that", "correction,", "scratch that,", "I mean", "sorry,", "no wait,", "take that back,"),
    *(
        "actually",
        "no,",
        "strike that,",
        "make it",
        "hang on,",
        "hold on, it's",
        "let me redo that,",
        "no, sorry,",
    ),
    *("let me look again,", "misread that,", "that's wrong,", "wait, that's", "correct that to", "rather"),
    *("make the first one", "second look,", "let me pull that again,"),
)
# Spellings that a dictionary would not have.
MISSPELLED = ("siezed", "calliper", "centre", "bush", "you bolt", "you joint")
LEADS = (
    *("", "", "", "", "", "I got "),
    *("I've got ", "that's ", "we're at ", "comes in at ", "it reads ", "it's ", "showing "),
    *("sitting at ", "measured ", "I'm seeing ", "right at ", "call it "),
    *("has ", "with ", "only ", "down to ", "still ", "was ", "there's ", "I make it ", "came out to "),
    *(
        "gives me ",
        "coming in at ",
        "I have ",
        "the gauge says ",
        "checks at ",
        "I read ",
        "reading ",
        "up to ",
    ),
)
TAILS = (
    *[""] * 22,
    *("", " of movement", " on the gauge", " with the weight off", " by the dial", " on it"),
    *(" remaining", " left", " cold", " warm"),
    *(
        " with the engine running",
        " at idle",
        " and steady",
        " at the tip",
        " each",
        " at the top",
        " so far",
    ),
    *(
        " all the way round",
        " side to side",
        " up and down",
        " in and out",
        " at the lip",
        " total",
        " at rest",
    ),
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
    *(
        "not leaking",
        "no leaks",
        "no cracks",
        "right rear, same thing",
        "same for the left front",
        "same here",
    ),
    *(
        "right side same condition",
        "left is the same",
        "the other one matches",
        "both of them",
        "ditto on the right",
    ),
    *(
        "same number on the passenger side",
        "axle two, the same",
        "no movement at all",
        "nothing loose",
        "and so is the left",
    ),
)
HEDGES = (
    *("", "", "", "", "", "", "", "about ", "around ", "just over ", "just under ", "maybe ", "right at "),
    *("roughly ", "close to ", "a little over ", "nearly ", "at least ", "call it "),
)
