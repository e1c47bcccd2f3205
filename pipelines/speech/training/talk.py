"""Talk that is no finding: orders, remarks, weather. Keeps the recogniser's ear for plain English."""

from random import Random

_WHO = (
    "somebody",
    "the driver",
    "the boss",
    "my brother",
    "the new guy",
    "she",
    "he",
    "nobody",
    "everyone",
    "the customer",
)
_DID = (
    "called about", "asked for", "dropped off", "forgot", "found", "wants", "needs", "brought back",
    "ordered", "left",
    "picked up", "was talking about", "borrowed", "is looking for", "put away", "signed for",
)  # fmt: skip
_WHAT = (
    "the keys", "the long extension", "a cup of coffee", "the parts list", "the white truck", "the invoice",
    "the jack stands",
    "the socket set", "the trailer", "the manual", "a box of gloves", "the shop vac", "the forklift",
    "the blue folder",
    "the phone charger", "a ladder", "the paperwork", "the wiring diagram", "the rain gear", "the big hammer",
)  # fmt: skip
_WHEN = (
    "this morning", "after lunch", "yesterday", "on Monday", "before the storm", "an hour ago", "tomorrow",
    "last week", "at the end of the day",
    "every single time", "in a minute", "for the county", "by the back door", "out in the yard",
    "on the bench",
)  # fmt: skip
_WHOLE = (
    "can you hand me that light", "turn that compressor off", "it's loud in here", "hold on a second",
    "what time is it",
    "don't stand there", "give me a minute", "that hoist is slow today", "close the door, it's cold",
    "is there any coffee left",
    "I can't see a thing down here", "somebody's calling for you", "watch your head",
    "move the light over a little",
    "let me wipe this off first", "I'll get to that later", "we're out of shop towels",
    "that's what I thought",
    "looks like rain again", "it was fine last time", "go ahead", "yes", "no", "stop", "okay", "start",
    "repeat that", "help",
    "thank you", "never mind", "try again", "go to the next one", "did you get that", "I already told them",
    "that's all for now",
    "good morning", "how's it going", "let's see here", "hard to say", "it'll do", "could be worse",
    "nothing else to add",
    "put it on the list", "the radio's too loud", "they closed the road by the river",
    "the plow trucks come in on Friday",
    "she said the grader is next", "bring the creeper over here", "come back to that one",
    "need a longer bar for this",
    "that bolt's rounded off", "can't reach it from here", "start it up", "shut it down", "rev it a little",
    "turn the wheel to the left",
    "pry it up", "push on the pedal", "let it idle", "let it cool down", "lower it down", "raise it up",
    "get the other side",
)  # fmt: skip
_ASKED = (
    "did",
    "can you see if",
    "I think",
    "I hope",
    "I'm sure",
    "ask if",
    "remember when",
    "you know",
    "it seems",
    "maybe",
)


def talk(rng: Random) -> str:
    """One remark, without a capital or a full stop."""
    if rng.random() < 0.45:
        return rng.choice(_WHOLE)
    sentence = f"{rng.choice(_WHO)} {rng.choice(_DID)} {rng.choice(_WHAT)}"
    if rng.random() < 0.6:
        sentence += f" {rng.choice(_WHEN)}"
    if rng.random() < 0.3:
        sentence = f"{rng.choice(_ASKED)} {sentence}"
    return sentence
