"""Self-check questions for lesson 12: each draws its own call-out and computes its own answer.

A question is drawn from a stream and nothing else, so the same seed gives the same question.
A wrong choice is what a typical mistake gives, and says which mistake.
"""

from __future__ import annotations

from tankside.diagnosis.planner import entropy
from tankside.faults.catalogue import Remedy, faults, remedies
from tankside.questions.numbers import number_question
from tankside.questions.question import Choice, Question
from tankside.quoting import load_prices, quote
from tankside.streams import Stream

CLOSING = (
    "put every lead and joint back",
    "fill the tank and let the air out",
    "soap on every gas joint that was opened",
    "covers on, lock off",
    "run it through a whole round",
    "write the report",
)
"""The end of a call-out, in its order (common practice, no source)."""
OWN = "Mend it, and run it through a whole round."
OTHERS = "Prove it, lock out, and report who has to come."


def best_test(draw: Stream) -> Question:
    """Which of three tests tells most for its minutes."""
    n = draw.choice((8, 12, 16))
    tests: list[tuple[int, int, float]] = []
    while len(tests) < 3:
        part, minutes = draw.integer(1, n // 2), draw.choice((1, 2, 3, 5, 10, 15))
        worth = entropy([part / n, 1 - part / n]) / minutes
        if all(abs(worth / w - 1) > 0.2 for _, _, w in tests):
            tests.append((part, minutes, worth))
    best = max(tests, key=lambda t: t[2])

    def words(part: int, minutes: int) -> str:
        return f"the one that parts {part} from {n - part}, in {minutes} min"

    text = f"{n} faults are left, each as likely. " + "; ".join(
        f"{'Test' if letter == 'A' else 'test'} {letter} parts {p} from {n - p} and takes {m} min" for letter, (p, m, _) in zip("ABC", tests, strict=True)
    )  # fmt: skip
    why = f"It tells {10 * best[2]:.1f} bits in ten minutes, more than the others."
    wrong = tuple(
        Choice(words(p, m), f"Only {10 * w:.1f} bits in ten minutes.")
        for p, m, w in tests
        if (p, m, w) != best
    )
    return Question("best-test", f"{text}. Which one first?", Choice(words(*best[:2]), why), wrong, why)


def tells_nothing(draw: Stream) -> Question:
    """A test that comes out the same for all that is left."""
    left = draw.integer(3, 6)
    name = draw.choice(
        ("pressure at the valve", "volts at the outlet", "flow at the hot tap", "ohms of the coil")
    )
    text = f"{left} faults are left. For every one of them the {name} would read the same. You could take it in a minute. Do you?"
    right = Choice("No: it can't change what I do next.", "It reads the same whatever is wrong.")
    wrong = (
        Choice("Yes: it is cheap.", "A minute for nothing is a minute lost."),
        Choice("Yes: more readings are better evidence.", "A reading that rules nothing out proves nothing."),
        Choice("Yes, but last.", "Not at all. After the others it tells even less."),
    )
    return Question("tells-nothing", text, right, wrong, right.why)


def swap_on_average(draw: Stream) -> Question:
    """The average bill of swapping parts in turn."""
    prices = [float(draw.integer(60, 240)) for _ in range(3)]
    prices.sort()
    mean = (prices[0] + (prices[0] + prices[1]) + sum(prices)) / 3
    wrong = [
        (sum(prices), "That is the worst case: the last part cures it."),
        (prices[0], "That is the lucky case: the first part cures it."),
        (sum(prices) / 3, "That forgets that the parts before were paid for, too."),
        (prices[2], "Only the dearest part. The two before were paid for as well."),
    ]
    text = (
        f"Three parts may be at fault, each as likely. Fitted, they cost {prices[0]:.0f}, {prices[1]:.0f} and {prices[2]:.0f} dollars. "
        "Somebody swaps them, cheapest first, until it works. What does the owner pay on average?"
    )
    way = "One time in three one part is paid for, one time in three two, one time in three all of them."
    return number_question("swap-on-average", text, mean, "dollars", way, wrong, decimals=0)


def what_next_at_the_end(draw: Stream) -> Question:
    """The step that comes next when a call-out is closed."""
    at = draw.integer(0, len(CLOSING) - 2)
    right = Choice(CLOSING[at + 1], "That is the order: safe, tight, closed, proven, written.")
    others = [k for k in range(len(CLOSING)) if k not in (at, at + 1)]
    wrong = tuple(
        Choice(CLOSING[k], "That comes later." if k > at + 1 else "That is done already.")
        for k in draw.shuffled(others)[:3]
    )
    text = f"The repair is made. Gas and water were both opened. You have just done this: {CLOSING[at]}. What next?"
    return Question("what-next-at-the-end", text, right, wrong, right.why)


def whose_work(draw: Stream) -> Question:
    """A repair that is a heater technician's, or another trade's."""
    cure: Remedy = draw.choice(tuple(remedies().values()))
    name = draw.choice(sorted(f.name for f in faults().values() if f.remedy == cure.id) or [cure.name])
    right, other = (OTHERS, OWN) if cure.other_trade else (OWN, OTHERS)
    why = (
        "It sits ahead of the heater. Its repair is another trade's." if cure.other_trade else "It is work on the heater itself."
    )  # fmt: skip
    wrong = (
        Choice(other, why),
        Choice("Leave it running and mention it.", "A fault that you know of is never left running without a word in writing."),
        Choice("Bridge it for now.", "Never defeat what protects people."),
    )  # fmt: skip
    text = f"Your readings leave one fault: {name}. You are a heater technician. What do you do?"
    return Question("whose-work", text, Choice(right, why), wrong, why)


def one_repair_left(draw: Stream) -> Question:
    """Whether two faults that are left need telling apart."""
    names = [f.name for f in faults().values()]
    known = [f for f in faults().values() if names.count(f.name) == 1]
    first = draw.choice(known)
    same = [f for f in known if f.remedy == first.remedy and f.id != first.id]
    alike = bool(same) and draw.choice((True, False))
    second = draw.choice(same if alike else [f for f in known if f.remedy != first.remedy])
    cures = remedies()
    stop = Choice("Stop: one repair cures both.", f"Both are cured by: {cures[first.remedy].name}.")
    go = Choice(
        "Go on: they need different repairs.",
        f"One needs: {cures[first.remedy].name}. The other: {cures[second.remedy].name}.",
    )
    right, other = (stop, go) if alike else (go, stop)
    wrong = (
        Choice(other.text, right.why),
        Choice(
            "Fit both parts, to be sure.",
            "One of them would be paid for nothing, and the cause stays unknown.",
        ),
        Choice("Take the likelier one.", "A guess. One more reading would decide, or none is needed."),
    )
    text = f"Two faults are left: “{first.name}” and “{second.name}”. What now?"
    return Question("one-repair-left", text, right, wrong, right.why)


def bill(draw: Stream) -> Question:
    """The bill of one visit from the price list."""
    prices = load_prices()
    remedy = draw.choice([r for r in remedies().values() if not r.other_trade and r.parts_cost > 0])
    found = quote([remedy.id], 0.0)
    labor = next(line.amount for line in found.lines if line.what == "labor")
    parts = remedy.parts_cost * (1 + prices.parts_markup)
    wrong = [
        (found.total - prices.call_out * (1 + prices.tax), "The call-out is missing."),
        (found.total / (1 + prices.tax), "The tax is missing."),
        (
            (prices.call_out + labor + remedy.parts_cost) * (1 + prices.tax),
            "The mark-up on parts is missing.",
        ),
        ((parts + labor) * 1.0, "Call-out and tax are missing."),
    ]
    text = (
        f"Coming {prices.call_out:.0f} dollars; an hour {prices.hour:.0f} dollars; you charge {found.minutes:.0f} min. Parts cost you "
        f"{remedy.parts_cost:.0f} dollars, and {100 * prices.parts_markup:.0f} % goes on top. Tax {100 * prices.tax:.0f} %. What is the bill?"
    )
    way = "Coming, time, and parts with their mark-up; then the tax on all of it."
    return number_question("bill", text, found.total, "dollars", way, wrong, decimals=2)


def words_that_rule_out(draw: Stream) -> Question:
    """What one may conclude from the other source of heat working."""
    works, dead = draw.choice((("shore power", "gas"), ("gas", "shore power")))
    since = draw.choice(("a week", "last season", "yesterday", "the last trip"))
    text = f"Since {since}: on {works} it heats as it should, on {dead} it doesn't. What have these words ruled out?"
    own = {"gas": "the cylinder", "shore power": "the element"}
    why = "What both sources share must be good: the tank, its water and its lines."
    wrong = (
        Choice(
            f"everything on the {dead} side", f"No: that is where the fault is, {own[dead]} among others."
        ),
        Choice(
            "the tank's thermostats, both of them",
            f"Each source has its own. The one for {dead} may be at fault.",
        ),
        Choice("nothing: owners are vague", "Vague on the cause. But hot water on one source is a reading."),
    )
    return Question("words-that-rule-out", text, Choice("what both sources share: tank, water, lines", why), wrong, why)  # fmt: skip


QUESTIONS = (
    best_test,
    tells_nothing,
    swap_on_average,
    what_next_at_the_end,
    whose_work,
    one_repair_left,
    bill,
    words_that_rule_out,
)
