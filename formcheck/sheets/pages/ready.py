"""What is met of what comes before the next phase, rule by rule, in words."""

from shlex import quote

from formcheck.records.limits import PassedLimit
from formcheck.records.readiness import Gate, Readiness, Rule, RuleName
from formcheck.sheets.pages.exercise_names import exercise_title
from formcheck.words.labels import measure_label
from formcheck.words.limits import limits_of, value_text
from formcheck.words.stop import stop_card
from formcheck.words.words import UNKNOWN, Words


def ready_lines(ready: Readiness, alias: str, words: Words) -> list[str]:
    """Where a client is, what is due, and each rule with what the record says of it.

    What the coach has still to look into comes first, and nothing is due then.
    """
    since = words.date(ready.since)
    lines = _open_lines(ready, alias, words)
    due = "ready.held" if lines else "ready.due"
    lines.append(words("ready.phase", alias=alias, phase=ready.phase, since=since))
    for one in ready.items:
        lines.append(
            words(
                due if one.due else "ready.waits",
                exercise=exercise_title(one.exercise, words),
                side=one.side,
                asked=one.sessions_asked,
                done=one.sessions_done,
            )
        )
    return lines + (_gate_lines(ready.gate, alias, words) if ready.gate else [words("ready.last")])


def _open_lines(ready: Readiness, alias: str, words: Words) -> list[str]:
    card = stop_card(ready.open, words, ready.most_pain, days=True)
    if card is None:
        return []
    told = " ".join(card.reasons)
    return [words("ready.open", alias=alias, told=told, typed=quote(alias))]


def _gate_lines(gate: Gate, alias: str, words: Words) -> list[str]:
    lines = [words("ready.gate", phase=gate.phase)]
    lines += [rule_line(rule, words) for rule in gate.rules]
    if gate.proposed:
        return [*lines, words("ready.proposed", typed=quote(alias), phase=gate.phase)]
    return [*lines, words("ready.not_proposed")]


def rule_line(rule: Rule, words: Words) -> str:
    """``not met: weeks in this phase: 0.3, asked for 2``."""

    def number(value: float | None) -> str:
        if value is None:
            return UNKNOWN
        if rule.name is RuleName.SHARE_WITHIN:
            return words.share(value)
        return words.number(value, 0 if float(value).is_integer() else 1)

    untold = "_untold" if rule.asked is not None and rule.found is None else ""
    text = words(f"ready.{rule.name}{untold}", asked=number(rule.asked), found=number(rule.found))
    days = ", ".join(words.date(day) for day in rule.days)
    if rule.limits:
        days = "; ".join(passed_line(one, words) for one in rule.limits)
    shown = words("ready.on_days", days=days) if days else ""
    return f"{words(f'ready.{rule.state}')}: {text}{shown}"


def passed_line(one: PassedLimit, words: Words) -> str:
    """``14 November 2026, Push-up plus: arm height 118 ± 7°, limit at most 90°``."""
    return words(
        f"ready.limit_{one.state}",
        day=words.date(one.day),
        exercise=exercise_title(one.exercise, words),
        label=measure_label(one.measure, words),
        value=value_text(one, words),
        limits=limits_of(one, words),
    )
