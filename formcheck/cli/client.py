"""``formcheck client``: who is in the record, and what the coach writes down about them."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli import client_data, client_show
from formcheck.cli.options import RecordOption, day_of

app = typer.Typer(
    help="Clients by alias: add, list, show, export, forget.\n\nExample: formcheck client add heron",
    no_args_is_help=True,
)

app.command("export", short_help="Write all that is kept of a client to a file.")(
    client_data.export
)
app.command("forget", short_help="Remove all that is kept of a client.")(client_data.forget)
app.command("show", short_help="Show what is recorded of a client.")(client_show.show)

Alias = Annotated[str, typer.Argument(help="The client's alias.", metavar="ALIAS")]
By = Annotated[str, typer.Option(help="Who says so.")]


@app.command("add", short_help="Add a client; starts the record if there is none.")
def add(alias: Alias, records: RecordOption = None) -> None:
    """Add a client, by an alias and never by name; starts the record if there is none.

    The alias stands on every page and in the names of files. Take a word that has nothing to do with
    the person (a bird, a tree), and keep the list of who is who somewhere else.

    Example: formcheck client add heron
    """
    from formcheck.records.clients import add_client, looks_like_a_name
    from formcheck.records.store import open_store

    with open_store(records, create=True) as store:
        add_client(store, alias)
        typer.echo(f"{alias} added to {store.path}")
    if looks_like_a_name(alias):
        typer.echo(
            "note: that looks like a first and a last name. An alias stands on every page and in file "
            "names, so take a word that has nothing to do with the person; `formcheck client forget` "
            "removes this one.",
            err=True,
        )


@app.command("list", short_help="List the clients.")
def list_all(records: RecordOption = None) -> None:
    """List the clients, with how much is recorded of each. Example: formcheck client list"""
    from formcheck.records.clients import list_clients
    from formcheck.records.store import open_store

    with open_store(records) as store:
        clients = list_clients(store)
    width = max((len(client.alias) for client in clients), default=0)
    for client in clients:
        last = f", last on {client.last_day}" if client.last_day else ""
        typer.echo(f"{client.alias:{width}}  {client.sets} sets on {client.days} days{last}")


@app.command("prescribe", short_help="Record a programme as what holds from a day on.")
def prescribe(
    alias: Alias,
    programme: Annotated[Path, typer.Argument(help="The programme (.toml).", metavar="FILE")],
    from_day: Annotated[
        str | None, typer.Option("--from", help="Day from which it holds; today by default.")
    ] = None,
    records: RecordOption = None,
) -> None:
    """Record a client's programme as what is prescribed from a day on. Earlier ones stay known.

    Example: formcheck client prescribe heron heron.toml --from 2026-03-31
    """
    from formcheck.records.programmes import prescribe as write_down
    from formcheck.records.programmes import programmes_of
    from formcheck.records.store import open_store

    start = day_of(from_day, "--from") or date.today()
    with open_store(records) as store:
        before = len(programmes_of(store, alias))
        version = write_down(store, alias, programme, from_day=start)
        held = programmes_of(store, alias)[version - 1]
    told = f"version {version} of the programme of {alias}, in force from {held.from_day}"
    typer.echo(told if version > before else f"{told}: recorded before, nothing was changed")
    for line in (*held.programme.warnings, *held.programme.advice):
        typer.echo(f"note: {line}", err=True)


@app.command("note", short_help="Write down a note on a client.")
def note(
    alias: Alias,
    words: Annotated[str, typer.Argument(help="The note.")],
    by: By,
    set_id: Annotated[
        int | None, typer.Option("--set", help="Number of the set that it is about.")
    ] = None,
    day: Annotated[
        str | None, typer.Option("--date", help="Day of the note; today by default.")
    ] = None,
    records: RecordOption = None,
) -> None:
    """Write down a note on a client, or on one set.

    Example: formcheck client note heron 'Sleeps better.' --by coach
    """
    from formcheck.records.notes import Note, add_note
    from formcheck.records.store import open_store

    with open_store(records) as store:
        written = Note(day_of(day) or date.today(), by, words, set_id)
        add_note(store, alias, written)
    about = f", set {set_id}" if set_id is not None else ""
    typer.echo(f"{alias}, {written.day}{about}: note of {by} written down")


@app.command("overrule", short_help="Give your own verdict on a check of a repetition.")
def overrule(
    alias: Alias,
    set_id: Annotated[int, typer.Argument(help="Number of the set; see client show.")],
    rep: Annotated[int, typer.Option(help="Number of the repetition on the sheet.")],
    check: Annotated[str, typer.Option(help="The check, such as sag.")],
    verdict: Annotated[str, typer.Option(help="within, outside or not-measurable.")],
    why: Annotated[str, typer.Option(help="Why, in a few words.")],
    by: By,
    side: Annotated[str, typer.Option(help="left, right or both, where the check has one.")] = "",
    records: RecordOption = None,
) -> None:
    """Overrule the measured verdict, which stays beside yours; yours counts from then on.

    Example: formcheck client overrule heron 12 --rep 3 --check sag --verdict within
    --why 'a loose shirt' --by coach
    """
    from formcheck.errors import UsageError
    from formcheck.records import notes
    from formcheck.records.store import open_store

    given: notes.CoachVerdict
    match verdict:
        case "within" | "outside" | "not-measurable":
            given = verdict
        case _:
            raise UsageError(f"--verdict {verdict}: there is within, outside and not-measurable")
    with open_store(records) as store:
        notes.overrule(
            store,
            alias,
            set_id,
            rep=rep,
            check_id=check,
            verdict=given,
            by=by,
            words=why,
            side=side,
        )
        measured = notes.overrules_of(store, alias)[-1].measured
    what = " ".join(filter(None, (check, side)))
    typer.echo(
        f"set {set_id}, repetition {rep}, {what}: measured {measured}, now {verdict} by {by}"
    )


@app.command("clear", short_help="Say that you looked into what the client told.")
def clear(
    alias: Alias,
    by: By,
    note: Annotated[str, typer.Option(help="What you found and agreed.")],
    day: Annotated[
        str | None,
        typer.Option("--through", help="Last day of what you looked into; today by default."),
    ] = None,
    records: RecordOption = None,
) -> None:
    """Clear what a client told of pain or warning signs, with a note; until then it stays open.

    Example: formcheck client clear heron --by coach --note 'Seen by the doctor, may go on.'
    """
    from formcheck.records.answers import clear as write_down
    from formcheck.records.answers import open_answers
    from formcheck.records.phases import most_pain_of
    from formcheck.records.store import open_store

    through = day_of(day, "--through") or date.today()
    with open_store(records) as store:
        waiting = open_answers(store, alias, most_pain=most_pain_of(store, alias, through))
        cleared = [one for one in waiting if one.day <= through]
        if not cleared:
            typer.echo(f"{alias}: nothing is open through {through}; nothing was written")
            return
        write_down(store, alias, through_day=through, by=by, note=note)
    days = ", ".join(dict.fromkeys(str(one.day) for one in cleared))
    still = len(waiting) - len(cleared)
    rest = f"; {still} of later days still open" if still else ""
    typer.echo(f"{alias}: what was told on {days} is cleared by {by}{rest}")


@app.command("sign", short_help="Move a client to a phase, by your signature.")
def sign(
    alias: Alias,
    phase: Annotated[str, typer.Option(help="Name of the phase in the programme.")],
    by: By,
    note: Annotated[str, typer.Option(help="Why, in a few words.")],
    from_day: Annotated[
        str | None, typer.Option("--from", help="First day of the phase; today by default.")
    ] = None,
    although_not_met: Annotated[
        bool,
        typer.Option("--although-not-met", help="Sign in spite of rules that are not met."),
    ] = False,
    records: RecordOption = None,
) -> None:
    """Move a client to a phase of the programme, forward or back, by your signature.

    It is refused while a warning is open. Where rules are not met it names them and asks for
    --although-not-met, which the record keeps.

    Example: formcheck client sign heron --phase loaded --by coach --note 'Steady for two weeks.'
    """
    from formcheck.records.signature import sign_phase, unmet_rules
    from formcheck.records.store import open_store
    from formcheck.sheets.pages.ready import rule_line
    from formcheck.words.words import words_for

    day = day_of(from_day, "--from") or date.today()
    with open_store(records) as store:
        for rule in unmet_rules(store, alias, phase, day):
            typer.echo(rule_line(rule, words_for("en")), err=True)
        entry = sign_phase(
            *(store, alias, phase),
            from_day=day,
            by=by,
            note=note,
            although_not_met=although_not_met,
        )
    although = " although not all of it is met" if entry.although else ""
    typer.echo(f'{alias} is in phase "{entry.phase}" from {entry.from_day}{although}')


@app.command("unsign", short_help="Take the latest signature back.")
def unsign(
    alias: Alias,
    by: By,
    note: Annotated[str, typer.Option(help="Why, in a few words.")],
    records: RecordOption = None,
) -> None:
    """Take the latest signature back, as if it had not been given; the record keeps both.

    Example: formcheck client unsign heron --by coach --note 'Wrong client.'
    """
    from formcheck.records.phases import in_force
    from formcheck.records.signature import take_back
    from formcheck.records.store import open_store

    with open_store(records) as store:
        entry = take_back(store, alias, by=by, note=note)
        here = in_force(store, alias, date.today())
    back = (
        f'; {alias} is in phase "{here.programme.phase}" since {here.entry.from_day}'
        if here
        else ""
    )
    typer.echo(f'the signature for "{entry.phase}" from {entry.from_day} is taken back{back}')


@app.command("baseline", short_help="Sign a set as good, to read later ones against it.")
def baseline(
    alias: Alias,
    set_id: Annotated[int, typer.Argument(help="Number of the set; see client show.")],
    by: By,
    note: Annotated[str, typer.Option(help="Why, in a few words.")] = "",
    records: RecordOption = None,
) -> None:
    """Sign a set as good: later ones of its exercise and side are read as a change from it as well.

    Example: formcheck client baseline heron 12 --by coach --note 'Just as it should be.'
    """
    from formcheck.records.baseline import sign_baseline
    from formcheck.records.sets import sets_of
    from formcheck.records.store import open_store

    with open_store(records) as store:
        sign_baseline(store, alias, set_id, by=by, note=note)
        (signed,) = (one for one in sets_of(store, alias, checks=False) if one.id == set_id)
    what = f"{signed.exercise} {signed.side} of {signed.day}"
    typer.echo(f"{alias}: set {set_id}, {what}, is signed as good by {by}")
