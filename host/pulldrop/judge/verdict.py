"""All outcomes of a run to one verdict in plain words.

Rule: only a complete run in which every limit was met, and a contact was loaded, is a pass. A fail stands even when
the rest is missing, for one bad reading condemns a part; but an interrupted run, or one with bench trouble, has no
say about the part.
"""

from collections.abc import Sequence
from typing import Literal

from pulldrop.judge.decide import LOADED
from pulldrop.judge.doubt import doubt
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, NC, NO, TWIN, RelayForm, form_of
from pulldrop.model.quantity import show
from pulldrop.model.reading import NotTested, Reading, not_shown, of_another_form
from pulldrop.model.run.fault import HARMFUL, LATCHES, NOT_JUDGED, TEST_AGAIN, NamedFault, Unlike, likely, tied
from pulldrop.model.run.plan import Plan
from pulldrop.model.scale import CONTACT_DROP, LIGHT_DUTY, Grade, Mark, mark_of
from pulldrop.model.steps import STEPS
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict

Ended = Literal["complete", "interrupted", "bench trouble"]
NOT_IN_PLAN = {
    "hot": "hot make (tacking)",
    "rise": "heating under load",
    "leakage": "insulation",
    "soak": "coil when hot",
}
"""Kinds of step whose absence a pass must name, in words."""
LATCHING = (
    "A latching type stays operated by design, and is not tested here: if the print on the part shows one, with a"
    " second coil or with signs of polarity for set and reset, none of this holds."
)
SHORT_TO_A_METER = 1.0
"""Ohms that a plain meter can hardly tell from its leads (common practice)."""
BOTH_THROWS = ("bouncing",)
"""What ails both throws where it shows in 87a alone."""
FAILED = "Scrap it, or keep it marked as failed."
BUT_87A = "Scrap it, or mark it 'not 87a' and use it for light duty where 87a has no wire."
UNLESS_BY_DESIGN = "unless it is so by its design."
BY_WORD = "That the coil leads were exchanged rests on a person's word: the bench cannot see which lead is where."


def verdict(
    plan: Plan,
    judged: Sequence[Judged],
    ended: Ended,
    trouble: str = "",
    by_the_part: bool = False,
    faults: Sequence[NamedFault] = (),
    unlike: Unlike | None = None,
) -> Verdict:
    """Overall word, and one sentence each for what was found, what it means and what to do next.

    `by_the_part`: its coil took so much that the bench switched off, which is no say about the rest of it.
    `faults`: what the diagnosis named; limits decide the word, but of a part that meets them and is failing it says so.
    `unlike`: what it found unlike the part's class, which is said and decides nothing.
    """
    made = _verdict(plan, judged, ended, trouble, by_the_part, faults, unlike)
    if unlike and ended == "complete":
        after = {FAILED: "Scrap it", BUT_87A: BUT_87A[:-1]}.get(made.next)
        after = f"{after}, {UNLESS_BY_DESIGN}" if after else made.next
        told = {"means": f"{made.means} It is {unlike.text}.", "next": f"{after} {unlike.next}"}
        made = made.model_copy(update=told | {"unlike": unlike})
    exchanged = any(j.id == "contact_reversed" and isinstance(j.finding, Reading) for j in judged)
    if ended != "complete" or not exchanged:
        return made
    return made.model_copy(update={"means": f"{made.means} {BY_WORD}"})


def _verdict(
    plan: Plan,
    judged: Sequence[Judged],
    ended: Ended,
    trouble: str,
    by_the_part: bool,
    faults: Sequence[NamedFault],
    unlike: Unlike | None,
) -> Verdict:
    if ended == "interrupted":
        return Verdict(
            overall=Overall.INTERRUPTED,
            found=trouble or f"The run was stopped after {len(judged)} of {len(plan.wanted)} measurements.",
            means="An interrupted run says nothing about the part.",
            next="Run it again from the start.",
        )
    if ended == "bench trouble" and by_the_part:
        return _tripped(judged, trouble, faults)
    if ended == "bench trouble":
        return Verdict(
            overall=Overall.BENCH_TROUBLE,
            found=trouble or "The bench had trouble during the run.",
            means="The bench failed, not the part; nothing is known of the part.",
            next="Mend the bench (pulldrop board self-test), then run again.",
        )
    for one in judged:
        if of_another_form(one.finding):
            return _of_another_form(one.reason)
    failed = [j for j in judged if j.outcome is Outcome.FAIL]
    if failed and faults and faults[0].id in (*HARMFUL, *NOT_JUDGED):
        return _set_aside(_list(failed), faults[0])
    if failed:
        return _failed(plan, failed, faults, unlike)
    missing = _missing(plan, judged)
    if missing:
        return _incomplete(plan, judged, missing)
    unsure = [j for j in judged if j.outcome is Outcome.UNSURE]
    if unsure:
        means, advice = doubt(unsure, plan)
        return Verdict(overall=Overall.UNSURE, found=_list(unsure), means=means, next=advice)
    limits = sum(j.outcome is Outcome.PASS for j in judged)
    if any(j.id == "switch_table" and j.outcome is Outcome.NOTED for j in judged):
        return _learnt(judged)
    if not limits:
        return Verdict(
            overall=Overall.INCOMPLETE,
            found="Everything was measured, and nothing was held against a limit.",
            means="Without limits the numbers are not a judgement.",
            next="Use a protocol and a rating that set limits.",
        )
    if not any(j.id in LOADED and isinstance(j.finding, Reading) for j in judged):
        return _unloaded(plan)
    return _passed(plan, judged, limits, faults)


def _passed(plan: Plan, judged: Sequence[Judged], limits: int, faults: Sequence[NamedFault]) -> Verdict:
    worn = mark = mark_of(True, [one.grade for one in judged])
    as_one = _as_one(plan)
    found, means, advice = f"All {limits} limits were met.", f"the part is good{as_one}.", [f"Keep it{as_one}."]
    if mark:
        means, advice = f"the part is good for light duty{as_one}.", [LIGHT_DUTY]
    if faults:
        named = likely(faults)
        found = f"All {limits} limits were met, but not as by a sound part: {'; '.join(one.title for one in named)}."
        means = "the part still does its work; what is named is going, or was so from the start."
        told = list(dict.fromkeys(one.advice for one in named))
        light = any(LIGHT_DUTY in one for one in told)
        advice = [LIGHT_DUTY, *told] if mark and not light else told
        mark = Mark.LIGHT_DUTY if light else mark
    return Verdict(
        overall=Overall.PASS,
        found=f"{found} {_worn(judged)}" if worn else found,
        means=f"Under the conditions of '{plan.title}' {means}{_cold_filament(plan, judged)}",
        next=f"{' '.join(advice)} {_untested(plan)}A bench test does not prove the full rated current or a long life.",
        mark=mark,
    )


def _cold_filament(plan: Plan, judged: Sequence[Judged]) -> str:
    """Of a lamp that a meter would call a short, why it is none."""
    cold = next((one.finding for one in judged if one.id == "pair_dry"), None)
    if not plan.rating.filament or not isinstance(cold, Reading) or cold.number > SHORT_TO_A_METER:
        return ""
    return f" Its {show(cold.number, 'ohm')} are no short: a cold filament has about a fourteenth of its hot ohms."


def _as_one(plan: Plan) -> str:
    """By which form it was judged, where a part of another one looks the same."""
    if plan.form is None:
        return ""
    form = FORMS[plan.form]
    return f" as a {form.title} part ({form.called})" if _other_blade(form) else ""


def _worn(judged: Sequence[Judged]) -> str:
    """The contacts that are not surely good, in words."""
    told = [f"{MEASUREMENTS[one.id].title} {_drop(one)}" for one in judged if one.grade not in (None, Grade.GOOD)]
    edges = f"good up to {show(CONTACT_DROP.good, 'V')}, worn up to {show(CONTACT_DROP.worn, 'V')}"
    return f"On the scale of used contacts ({edges} at {CONTACT_DROP.load:g} A): {'; '.join(told)}."


def _drop(judged: Judged) -> str:
    assert isinstance(judged.finding, Reading) and judged.finding.value is not None
    shown = show(judged.finding.value, "V", judged.finding.expanded_uncertainty)
    return f"{shown} is {BY_GRADE[judged.grade]}" if judged.grade else shown


BY_GRADE = {
    Grade.GOOD: "good",
    Grade.GOOD_OR_WORN: "worn or good, too near the edge to say which: light duty until that is known",
    Grade.WORN: "worn",
    Grade.UNSURE: "too near the edge to tell worn from bad, and inside the maker's limit",
    Grade.BAD: "beyond it, and inside the maker's limit",
}


def _untested(plan: Plan) -> str:
    """What a part that passed was not tested for: by which protocol it would be, or why not; empty where all is in."""
    if plan.form is None:
        return ""
    by: dict[str, list[str]] = {}
    for kind, words in _left_out(plan).items():
        here = [plan.not_here[kind]] if kind in plan.not_here else []
        cannot = [*here, *STEPS[kind].beyond(FORMS[plan.form]).values()]
        does = [f"the protocol {one.name} does" for one in plan.leads_on if kind in one.steps]
        by.setdefault(next(iter([*cannot, *does]), "no protocol named in this one does"), []).append(words)
    for id, why in plan.beyond.items():
        by.setdefault(why, []).append(MEASUREMENTS[id].title)
    for kind, why in plan.left_out.items():
        by.setdefault(why, []).append(STEPS[kind].title)
    told = "; ".join(f"{', '.join(words)} ({how})" for how, words in by.items())
    not_tested = f"Not tested: {told}. " if told else ""
    second = "Of the second 87 only its drop was tested. " if TWIN in FORMS[plan.form].pairs else ""
    return f"{not_tested}{second}{_holds_for(FORMS[plan.form])}"


def _other_blade(form: RelayForm) -> str:
    """The blade that a changeover part has besides; with its contact dead it looks like this form to every test."""
    both = form_of(NO, NC).pairs
    return next((pair.b for pair in both if pair not in form.pairs), "") if set(form.pairs) < set(both) else ""


def _holds_for(form: RelayForm) -> str:
    blade, both = _other_blade(form), form_of(NO, NC)
    if not blade:
        return ""
    return (
        f"This holds for a part without a blade {blade}: with one it is a {both.title} part whose {blade} never"
        " closed, and is not good. "
    )


def untested_in_short(plan: Plan) -> str:
    """What it was not tested for, in a few words, for a crate; empty where all is in."""
    if plan.form is None:
        return ""
    form = FORMS[plan.form]
    second = ["the second 87 but for its drop"] if TWIN in form.pairs else []
    other = [f"{blade} if it has one"] if (blade := _other_blade(form)) else []
    return ", ".join([*_left_out(plan, beyond=True).values(), *second, *other])


def _left_out(plan: Plan, beyond: bool = False) -> dict[str, str]:
    """Kinds of step that are not in the plan, in words; with `beyond` also those that give nothing of this form."""
    made = {step.measure for step in plan.steps if not (beyond and plan.beyond.keys() >= {*step.asked})}
    return {kind: words for kind, words in NOT_IN_PLAN.items() if kind not in made and kind not in plan.left_out}


def _tripped(judged: Sequence[Judged], trouble: str, faults: Sequence[NamedFault]) -> Verdict:
    """The coil's current ended the run: a coil that was bad from the start, or one that was sound before."""
    means = "The part's coil made the bench switch off, so the part was not judged; it is not known to be good."
    advice = "Do not energise it again before its coil is looked at; what the diagnosis names comes first."
    within = any(j.id == "coil_resistance_20c" and j.outcome is Outcome.PASS for j in judged)
    if within or (not faults and any(j.id == "coil_resistance_low" for j in judged)):
        means += (
            f" Its coil was {'within its limits' if within else 'sound at half a volt'} before that: turns that short"
            " when warm, or insulation or a suppressor that breaks down."
        )
        advice += " Ohms from 85 to 86, and from 85 to each contact blade, with a meter, cold and again warm, tell."
    return Verdict(overall=Overall.BENCH_TROUBLE, found=trouble, means=means, next=advice)


def refused(why: str, faults: Sequence[NamedFault]) -> Verdict:
    """Of a part that was refused, for what the look names, before it was energised."""
    return _set_aside(f"Nothing was tested: {why}.", faults[0])


def _of_another_form(why: str) -> Verdict:
    """A part that is none of this rating's, as its contacts show with the coil on."""
    return Verdict(
        overall=Overall.ANOTHER_KIND,
        found=f"Not tested any further: {why}.",
        means="The part was not judged, because this rating is not for it.",
        next="Test it by a rating of its own contact form.",
    )


def _set_aside(found: str, named: NamedFault) -> Verdict:
    """A part that must not be energised, or that these limits are not for as it lies here."""
    if named.id in NOT_JUDGED and named.id not in HARMFUL:
        means = f"The part was not judged, because this test is not for it: {named.title}."
        return Verdict(overall=Overall.ANOTHER_KIND, found=found, means=means, next=named.advice)
    means = f"The part must not be energised here: {named.title}."
    return Verdict(overall=Overall.DO_NOT_ENERGISE, found=found, means=means, next=named.advice)


def _failed(plan: Plan, failed: Sequence[Judged], faults: Sequence[NamedFault], unlike: Unlike | None) -> Verdict:
    means = (
        "The part does not meet its limits: "
        + "; ".join(dict.fromkeys(MEASUREMENTS[j.id].failed for j in failed))
        + "."
    )
    best = tied(faults)
    first = best[0].id if best else next(iter(unlike.may_be), "") if unlike else ""
    spared = plan.form is not None and NO in FORMS[plan.form].pairs
    spared = spared and all(MEASUREMENTS[one.id].pair == NC for one in failed)
    without = BUT_87A if spared and first not in BOTH_THROWS else FAILED
    if best:
        means += f" Most likely: {', or '.join(one.title for one in best)}"
        means += ": these readings do not tell which." if best[1:] else "."
    of_a_class = isinstance(plan.rating, Rating) and plan.rating.any_maker is not None
    if of_a_class and any(one.id in LATCHES for one in best):
        means += f" {LATCHING}"
    return Verdict(overall=Overall.FAIL, found=_list(failed), means=means, next=_with_a_failed_part(best, without))


def _with_a_failed_part(best: Sequence[NamedFault], failed: str) -> str:
    """The advice for the most probable fault, so that nothing else on the screen says otherwise; never to fit it.

    Of a tie that which is never to be fitted has the say.
    """
    if not best:
        return failed
    stern = next((one for one in best if one.never_fit), best[0])
    return stern.advice if stern.never_fit or stern.id in TEST_AGAIN else f"{stern.advice} {failed}"


def _unloaded(plan: Plan) -> Verdict:
    load = "Test it under load, with the load supply on and a protocol that loads, before trusting the part."
    of_switch = "Before trusting it, read the drop across each closed pair with its own lamp or motor on."
    return Verdict(
        overall=Overall.WITHOUT_LOAD,
        found="Everything that can be checked without load met its limits.",
        means="The contacts were not loaded. A part that clicks may still carry nothing.",
        next=of_switch if plan.rating.sort == "switch" else load,
    )


def _learnt(judged: Sequence[Judged]) -> Verdict:
    """Of a switch whose table nobody knew."""
    return Verdict(
        overall=Overall.INCOMPLETE,
        found=f"Its table was learnt. {next((one.reason for one in judged if one.id == 'switch_table'), '')}",
        means="No table of it was here to compare it with, so it is not judged.",
        next="Count its positions on the switch. The next run of this part is compared with this one.",
    )


def _missing(plan: Plan, judged: Sequence[Judged]) -> list[str]:
    """Wanted ids that have no outcome, or were not tested though this bench could and every sound part shows it."""
    tested = {j.id for j in judged if j.outcome is not Outcome.NOT_TESTED or not_shown(j.finding)} | plan.beyond.keys()
    return [id for id in plan.wanted if id not in tested]


def _incomplete(plan: Plan, judged: Sequence[Judged], missing: Sequence[str]) -> Verdict:
    reasons = {j.id: j.finding for j in judged if isinstance(j.finding, NotTested)}
    titles = ", ".join(MEASUREMENTS[id].title for id in missing)
    unloaded = all(id in reasons and reasons[id].because == "no load supply" for id in missing)
    unsure = [j for j in judged if j.outcome is Outcome.UNSURE]
    if unloaded and not unsure:
        return _unloaded(plan)
    why = next((reasons[id].reason for id in missing if id in reasons), "the plan did not reach it")
    return Verdict(
        overall=Overall.INCOMPLETE,
        found=f"Not tested: {titles} ({why}).",
        means="A part that was not tested in full is not known to be good.",
        next="Mend the cause and run again, or treat the part as not good.",
    )


def _list(judged: Sequence[Judged]) -> str:
    return "; ".join(f"{MEASUREMENTS[j.id].title}: {j.reason}" for j in judged) + "."
