"""The command line: reads options, asks advice, prints it, and is the only part that prints or exits."""

import functools
import os
import sys

from advisor.arguments import Parser
from advisor.asked.options import helped
from advisor.ground.errors import CalloutError, InputError, ShopError
from advisor.ground.version import version

OPTIONS = helped()  # the names of a case file, each an option, with what a reader of --help needs
RECORDS_HELP = "the file of recorded jobs, instead of $TURN_RADIUS_RECORDS or the one in your data folder"
REPLACE_HELP = "replace the output where it is there already"
CASE_OR_RADIUS = "the radius as on the drawing, such as 'R6 ±0.1' or 'R3/8', a case (a file, or its name), or the number of a kept job"
RECORD_OPTIONS = {
    "method": "the method that the job was done with",
    "tooling": "minutes to make the tool before the first trial; 0 where it lay ready",
    "setup": "minutes to set up, corrections after trial pieces included",
    "pieces": "good pieces made; the quantity of the case if left out",
    "minutes": "minutes for all pieces together, rework and remakes included",
    "misses": "arcs that came out of tolerance, put right or scrapped",
    "date": "day on which it was done, such as 2024-05-31; today if left out",
    "note": "anything worth remembering",
}


@functools.cache
def parser():
    """The command line's parser, one command a sub-parser."""
    top = Parser(
        prog="turn-radius", description="How to turn a radius on a manual lathe: which method, what to set, and why."
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    commands = top.add_subparsers(metavar="COMMAND")
    advise = commands.add_parser("advise", help="recommend a method, with its setup numbers and the reasons")
    _callout_options(advise)
    advise.add_argument("--full", action="store_true", help="every step, caution, number and assumption")
    advise.add_argument(
        "--keep", action="store_true", help="keep the job by a short number, for record, correct and sheet"
    )
    advise.add_argument("--json", action="store_true", help="print the answer as JSON")
    _picture_options(advise)
    _records_options(advise)
    _by_option(advise)
    advise.set_defaults(run=_advise)
    ask = commands.add_parser("ask", help="be asked only what can still change the answer, and get the answer")
    _callout_options(ask)
    ask.add_argument("--unknown", metavar="LIST", help="what you cannot say, such as material,holding: it is not asked")
    ask.add_argument("--minutes", action="store_true", help="ask too for what changes the minutes by more than a fifth")
    ask.add_argument("--json", action="store_true", help="print the next question and what hangs on it as JSON")
    _records_options(ask)
    ask.set_defaults(run=_ask)
    practise = commands.add_parser("practise", help="choose first, then see what the program takes and why")
    practise.add_argument("--count", metavar="N", help="callouts in this round; 10 if left out")
    practise.add_argument(
        "--seed", metavar="N", help="draws the same callouts again; another round each time if left out"
    )
    practise.add_argument("--answers", metavar="TEXT", help="answers ahead, such as 'form tool; freehand; 6 mm'")
    practise.add_argument(
        "--score", metavar="FILE", help="the file that keeps the score, instead of $TURN_RADIUS_PRACTICE"
    )
    practise.set_defaults(run=_practise)
    _why_options(commands)
    estimate = commands.add_parser(
        "estimate", help="price every method, with break-even quantities and what the figure hangs on"
    )
    _callout_options(estimate)
    estimate.add_argument("--quantities", metavar="LIST", help="other quantities to price, such as 1,5,25,100")
    estimate.add_argument("--json", action="store_true", help="print the estimate as JSON")
    estimate.add_argument("--csv", action="store_true", help="print a quote sheet as CSV")
    _records_options(estimate)
    _by_option(estimate)
    estimate.set_defaults(run=_estimate)
    record = commands.add_parser("record", help="keep what a job really took, for later estimates")
    _callout_options(record)
    for name, meaning in RECORD_OPTIONS.items():
        record.add_argument(f"--{name}", metavar="TEXT", help=meaning)
    record.add_argument("--yes", action="store_true", help="keep figures that are ten times off what was expected")
    record.add_argument("--records", metavar="FILE", help=RECORDS_HELP)
    record.set_defaults(run=_record)
    _correct_options(commands)
    records = commands.add_parser("records", help="list, export, import and mark what was recorded")
    records.add_argument("--records", metavar="FILE", help=RECORDS_HELP)
    records.add_argument("--export", metavar="FILE", help="write every job to a CSV file")
    records.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    records.add_argument("--import", metavar="FILE", dest="take", help="take over jobs from such a file, all or none")
    records.add_argument("--not-typical", metavar="ID", help="keep a job but leave it out of the averages; needs --why")
    records.add_argument("--typical", metavar="ID", help="let a job count again")
    records.add_argument("--put-aside", metavar="ID", help="neither list, count nor export a job; needs --why")
    records.add_argument("--take-back", metavar="ID", help="take back a job that was put aside")
    records.add_argument("--why", metavar="TEXT", help="the reason for a mark, or for putting a job aside")
    records.add_argument("--verify", action="store_true", help="look through the whole file for damage")
    records.add_argument("--rescue", metavar="FILE", help="save what can be read of a damaged file into a new one")
    records.add_argument("--kept", action="store_true", help="list the jobs that were kept, by number")
    records.add_argument("--json", action="store_true", help="print the list as JSON")
    records.set_defaults(run=_records)
    batch = commands.add_parser("batch", help="price a whole list: CSV, XLSX, ODS or Parquet")
    _list_options(batch)
    batch.add_argument("-o", "--output", metavar="FILE", default="-", help="the priced list; - for standard output")
    batch.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    batch.add_argument("--dry-run", action="store_true", help="show how each line is read, and price nothing")
    batch.add_argument("--against", metavar="SHOP", help="price the list in another shop too, and tell what that saves")
    _option_groups(batch)
    _records_options(batch)
    batch.set_defaults(run=_batch)
    quote = commands.add_parser("quote", help="a customer's list as a quote, with the questions to ask")
    _list_options(quote)
    quote.add_argument("-o", "--output", metavar="FILE", help="the quote, by its ending a .xlsx or .pdf")
    quote.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    quote.add_argument(
        "--for", metavar="TEXT", dest="customer", help="the customer's name; a blank to fill in if left out"
    )
    quote.add_argument("--number", metavar="TEXT", help="the quote's number; a blank if left out")
    quote.add_argument(
        "--valid", metavar="DAY", help="the last day it holds, or '30 days' from today; a blank if left out"
    )
    _option_groups(quote)
    _records_options(quote)
    quote.set_defaults(run=_quote)
    worth = commands.add_parser("worth", help="what a pivot attachment, a wider blank or gauges would save on a list")
    _list_options(worth)
    worth.add_argument("--replace", action="store_true", help="replace the file of --keep where it is there already")
    worth.add_argument("--json", action="store_true", help="print the answer as JSON")
    _option_groups(worth)
    _records_options(worth)
    worth.set_defaults(run=_worth)
    sheet = commands.add_parser("sheet", help="a page for the lathe: drawings to scale, numbers to set, steps to tick")
    _callout_options(sheet)
    sheet.add_argument("-o", "--output", metavar="FILE", help="the page, by its ending a .pdf, .svg, .png or .html")
    sheet.add_argument(
        "--paper", metavar="NAME", help="A4 or Letter; Letter for inch drawings and A4 for others if left out"
    )
    sheet.add_argument("--method", metavar="NAME", help="another method that stands, instead of the recommended one")
    sheet.add_argument(
        "--why", action="store_true", help="a second page with the reasons and the formulas with numbers"
    )
    sheet.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    _records_options(sheet)
    _by_option(sheet)
    sheet.set_defaults(run=_sheet)
    profile = commands.add_parser("profile", help="the form tool's edge and a template for the radius, as a DXF")
    _callout_options(profile)
    profile.add_argument("-o", "--output", metavar="FILE", help="the drawing, a .dxf")
    profile.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    profile.set_defaults(run=_profile)
    drawn = commands.add_parser("map", help="draw where each method wins, over any two quantities")
    _callout_options(drawn)
    drawn.add_argument(
        "--x", metavar="NAME", default="quantity", help="what runs across: one of --y's; pieces if left out"
    )
    drawn.add_argument(
        "--y", metavar="NAME", default="tolerance", help="radius, tolerance, quantity, diameter, width or stickout"
    )
    for end in ("x-from", "x-to", "y-from", "y-to"):
        drawn.add_argument(
            f"--{end}", metavar="VALUE", help="end of that axis, such as '0.5 mm'; chosen round the callout if left out"
        )
    drawn.add_argument(
        "-o", "--output", metavar="FILE", help="a picture, .png or .svg; letters on the terminal if left out"
    )
    drawn.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    _records_options(drawn)
    drawn.set_defaults(run=_map)
    shop = commands.add_parser("shop", help="the shops, what one can do, a new shop file, and how a shop is measured")
    shop.add_argument(
        "what", nargs="?", metavar="WHAT", help="a shop's name or file; or new, use or measure; a list if left out"
    )
    shop.add_argument("name", nargs="?", metavar="NAME", help="of new, use and measure: a shop's name or file")
    shop.add_argument("--units", metavar="TEXT", help="mm or inch: of a new file, of the pictures, or to be kept")
    shop.add_argument("-o", "--output", metavar="FILE", help="of measure: the pictures, a .svg, .png or .pdf")
    shop.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    shop.set_defaults(run=_shop)
    check = commands.add_parser("check", help="check rule, shop, case and list files; prove the rule base")
    check.add_argument("files", nargs="*", metavar="FILE", help="files or folders; the program's own if none are named")
    check.add_argument(
        "--prove", action="store_true", help="prove over many callouts that no rule is dead, hidden or contradicted"
    )
    check.add_argument("--sample", type=int, metavar="N", help="callouts for --prove, a million if not given")
    check.set_defaults(run=_check)
    page = commands.add_parser(
        "page", help="all of it in a browser on this machine: the answer, the steps, lists, the shop"
    )
    page.add_argument("--port", metavar="N", help="port to listen on; 8473 if left out, 0 for any that is free")
    page.add_argument(
        "--host",
        metavar="ADDRESS",
        help="another address of this machine, such as a tablet reaches; asks for a token then",
    )
    page.add_argument("--no-browser", action="store_true", help="do not open the browser")
    page.add_argument("--check", action="store_true", help="start, ask for the first page, and stop")
    page.add_argument("--records", metavar="FILE", help=RECORDS_HELP)
    page.set_defaults(run=_page)
    cases = commands.add_parser("cases", help="list the worked cases that the program carries, to use by name")
    cases.set_defaults(run=_cases)
    helped = commands.add_parser("help", help="what the commands do, or one of them with its options")
    helped.add_argument("name", nargs="?", metavar="COMMAND", help="a command, such as advise; all of them if left out")
    helped.set_defaults(run=_help)
    return top


def _list_options(command):
    """What every command that reads a customer's list takes."""
    command.add_argument("list", metavar="LIST", help="the list as the customer sent it; - for standard input")
    command.add_argument(
        "--columns",
        metavar="TEXT",
        help="what columns mean where the program does not know: 'Dia=diameter, Rad=radius, Remarks=', or a file of --keep",
    )
    command.add_argument(
        "--keep", metavar="FILE", help="keep what the columns of this customer mean, in a .toml for --columns"
    )
    usual = "cost" if command.prog.endswith(" quote") else "minutes"
    command.add_argument(
        "--by", metavar="WORD", default=usual, help=f"choose methods by minutes or by cost; {usual} if left out"
    )


def _why_options(commands):
    why = commands.add_parser(
        "why", help="why this method, why not another, what would change it, and each number derived"
    )
    _callout_options(why)
    why.add_argument("--instead", metavar="METHOD", help="another method side by side with the one recommended")
    why.add_argument(
        "--derive",
        metavar="NAME",
        help="one number, such as 'edge width' or 'batch': its equation, its source and what went in",
    )
    why.add_argument(
        "--if", metavar="TEXT", dest="what_if", help="the answer beside that with other values, such as 'quantity 40'"
    )
    why.add_argument("--levels", metavar="NUMBER", help="how far down --derive follows what went in; 2 if left out")
    why.add_argument("--numbers", action="store_true", help="every number of the setup with its equation worked out")
    why.add_argument("--json", action="store_true", help="print the answer as JSON")
    _picture_options(why)
    _records_options(why)
    _by_option(why)
    why.set_defaults(run=_why)
    word = commands.add_parser("word", help="what a word of the trade means")
    word.add_argument("term", nargs="?", help="such as 'form tool'; all of them if left out")
    word.add_argument("-o", "--output", metavar="FILE", help="its sketch drawn, where it has one: a .svg, .png or .pdf")
    word.add_argument("--replace", action="store_true", help=REPLACE_HELP)
    word.set_defaults(run=_word)
    known = commands.add_parser("materials", help="the materials, their other names, and what a name is taken as")
    known.add_argument("name", nargs="?", help="such as '4140 PH' or 'SUS304'; all of them if left out")
    known.set_defaults(run=_materials)
    rules = commands.add_parser("rules", help="the rule base to read, and the worked cases that each rule decides")
    rules.add_argument(
        "name", nargs="?", help="the id of a rule or a topic, such as 'freehand'; the topics if left out"
    )
    rules.set_defaults(run=_rules)


def _correct_options(commands):
    from advisor.asked.measured import OPTIONS as MEASURED

    correct = commands.add_parser(
        "correct", help="what to move after a trial piece: which way, how far, and what the next piece should measure"
    )
    _callout_options(correct)
    correct.add_argument("--method", metavar="NAME", help="the method that made it, instead of the recommended one")
    group = correct.add_argument_group("measured on the trial piece")
    for name, meaning in MEASURED.items():
        group.add_argument(f"--{name}", metavar="TEXT", help=meaning)
    correct.add_argument("--json", action="store_true", help="print the answer as JSON")
    _records_options(correct)
    correct.set_defaults(run=_correct)


def _picture_options(command):
    command.add_argument(
        "--picture", action="store_true", help="show what goes wrong with this method, the error drawn much too large"
    )
    command.add_argument("-o", "--output", metavar="FILE", help="with --picture: into a .svg, .png or .pdf")
    command.add_argument("--replace", action="store_true", help=REPLACE_HELP)


def _by_option(command):
    command.add_argument("--by", metavar="WORD", help="choose the method by minutes or by cost; minutes if left out")


def _records_options(command):
    command.add_argument("--records", metavar="FILE", help=RECORDS_HELP)
    command.add_argument("--without-records", action="store_true", help="starting values alone, whatever was recorded")


def _callout_options(command):
    command.add_argument("radius", nargs="?", help=CASE_OR_RADIUS)
    command.add_argument("shape_word", nargs="?", metavar="shape", help="one word for form and location, as --shape")
    command.add_argument(
        "--case", metavar="FILE", help="a case file, or the name of a worked case; other options override its values"
    )
    _option_groups(command)


def _option_groups(command):
    for title, names in OPTIONS.items():
        group = command.add_argument_group(title)
        for name, meaning in names.items():
            group.add_argument(f"--{name}", metavar="TEXT", help=meaning)


DONE, NO_METHOD, REFUSED, FAULT, STOPPED = 0, 1, 2, 3, 130  # exit statuses


def main(arguments=None):
    """Run one command. Returns the exit status: 0 done, 1 no method stands, 2 bad input, 3 a fault of this program."""
    arguments = sys.argv[1:] if arguments is None else list(arguments)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by whoever started the program
            setattr(sys, name, open(os.devnull, "w"))
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    status = REFUSED
    try:
        status = _run(arguments)
        sys.stdout.flush()
    except OSError as problem:
        status = _output_failed(problem, status)
    return status


def _run(arguments):
    """Run one command, and word whatever goes wrong. Returns the exit status."""
    try:
        if arguments[:1] == ["--version"]:
            say(f"turn-radius {version()}")
            return DONE
        options = parser().read(arguments)
        _never_onto_an_input(options)
        return options.run(options)
    except InputError as problem:
        return _refuse(problem, as_json="--json" in arguments)
    except KeyboardInterrupt:
        _complain("\nStopped.")
        return STOPPED
    except OSError as problem:
        if problem.filename is None and problem.errno is not None:
            return _output_failed(problem, DONE)
        where = shown_path(problem.filename or "file")
        _complain(CalloutError(where, "", f"fails ({problem.strerror})", "Check the disk and who may use it."))
        return REFUSED
    except Exception as problem:  # a mistake of ours, which must not look like an answer
        _complain(_fault(problem))
        return FAULT


# What a command reads and what it writes, by the names of its options, and how what is read is called.
_READ = {
    "list": "the list", "case": "the case", "radius": "the case", "shop": "the shop", "against": "the shop",
    "columns": "the file of --columns", "records": "the file of records", "take": "the file to import",
}  # fmt: skip
_WRITTEN = ("output", "keep", "export")
_SEEN_TO = {("keep", "columns"), ("export", "records")}  # may be written anew; refused by the records themselves


def _never_onto_an_input(options):
    """Refuse an output that is one of the files that the same command reads."""
    for written in _WRITTEN:
        target = getattr(options, written, None)
        if not isinstance(target, str) or not os.path.isfile(target):
            continue
        for read, called in _READ.items():
            if (written, read) not in _SEEN_TO and _same_file(_read_from(options, read), target):
                fix = "Give what is written a name of its own."
                raise CalloutError(f"--{written}", target, f"is {called} itself", fix)


def _read_from(options, name):
    """The file that an option names, or "" where it names none."""
    named = getattr(options, name, None)
    if name == "records" and hasattr(options, name):
        from advisor.records import job_records

        return "" if job_records.nowhere() and not named else str(job_records.place(named or None))
    return named if isinstance(named, str) else ""


def _same_file(one, two):
    try:
        return os.path.samefile(one, two)
    except (OSError, ValueError):
        return False


def _output_failed(problem, status):
    """What is to be done when the output takes no more: nothing, where whoever reads it has read enough."""
    _drop_output()
    if isinstance(problem, BrokenPipeError):
        return status
    _complain(CalloutError("output", "", f"fails ({problem.strerror})", "Check the disk and who may use it."))
    return REFUSED


def _fault(problem):
    """One line about a mistake in this program: what, and where in it."""
    import traceback

    last = traceback.extract_tb(problem.__traceback__)[-1]
    what = f"{type(problem).__name__} in {os.path.basename(last.filename)}, line {last.lineno}"
    return (
        f"turn-radius: a fault in the program itself ({what}). Nothing that it said can be relied on. Please report it."
    )


def _complain(text):
    """Print to standard error, which may be gone."""
    try:
        print(_as_taken(str(text), sys.stderr), file=sys.stderr)
        sys.stderr.flush()
    except OSError:
        pass


def say(text, *, exactly=False):
    """Print to standard output. Whoever reads it may have read enough; then the rest of the work goes on in silence.

    exactly: data for another program, as it stands and without a line end of its own.
    """
    try:
        print(_as_taken(text, sys.stdout, exactly=exactly), end="" if exactly else "\n")
    except BrokenPipeError:
        _drop_output()


def shown_path(path):
    """A path on one line, without what a terminal would act on."""
    from advisor.ground.units import shown

    return shown(path, longest=300)


def _drop_output():
    """Let nothing more be written to the output, not at the end of the program either."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        pass


def _refuse(problem, *, as_json):
    if as_json:
        import json

        from advisor.show.as_json import error

        say(json.dumps(error(problem), ensure_ascii=_ascii_only()) + "\n", exactly=True)
    else:
        _complain(problem)
    return REFUSED


def _stated(options):
    """The options with the names of a case file that are stated: name -> text."""
    names = [name.replace("-", "_") for group in OPTIONS.values() for name in group]
    stated = {name: getattr(options, name) for name in names if getattr(options, name) is not None}
    word = getattr(options, "shape_word", None)
    if word is None:
        return stated
    from advisor.asked.callout import is_shape
    from advisor.asked.spelling import shapes_known
    from advisor.ground.errors import did_you_mean

    if not is_shape(word):
        near = did_you_mean(word, [shape.word for shape in shapes_known()])
        fix = f'{near}Put quotes round what has spaces in it, such as "R6 ±0.1".'
        raise CalloutError("command line", word, "is one word too many", fix)
    if "shape" in stated:
        raise CalloutError("shape", word, f"is given beside --shape {stated['shape']}", "Give one of them.")
    return stated | {"shape": word}


def read_job(options):
    """Callout and shop that the options state, or the job of the number that stands in their first place."""
    from advisor.asked import callout as callouts

    _case_first(options)
    job = _kept(options)
    given = job | _stated(options) | ({} if options.radius is None or job else {"radius": options.radius})
    case = callouts.open_case(options.case) if options.case is not None else None
    stated = (case.fields if case else {}) | given
    shop, known = _shop_and_known(stated, case)
    options.fields = stated | {"shop": stated.get("shop") or _usual_name()}
    if case:
        return callouts.read_case(options.case, overrides=given, **known), shop
    return callouts.read_callout(given, **known), shop


def _shop_and_known(fields, case):
    """The shop that the fields of a callout name, else the one that counts, and what a callout is read with there."""
    from advisor.asked import materials, settings
    from advisor.asked import shop as shops

    named = fields.get("shop")
    shop = usual_shop() if named is None else shops.read_shop(named)
    known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    if named is not None or case is None:  # a case means the same whatever somebody keeps in his settings
        kept = settings.read().units if named is None else ""
        known["shop_units"] = kept or shops.drawing_units(shop)
    return shop, known


def usual_shop():
    """The shop that counts where none is named: of the environment, of the settings, or the program's own."""
    from advisor.asked import settings
    from advisor.asked import shop as shops

    name, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    try:
        return shops.read_shop(name)
    except ShopError as problem:
        if problem.field != "shop":
            raise
        fix = f"{problem.fix} It is the shop of {chosen_by}: choose another with turn-radius shop use."
        raise ShopError("shop", problem.value, problem.problem, fix) from None


def _kept(options):
    """What was stated of the job whose number stands in the first place: name -> text; {} where no number stands there.

    A bare whole number is a radius where its shape or the diameter is given with it, and else the number of a job.
    """
    text = (options.radius or "").strip()
    is_radius = options.case is not None or _stated(options).keys() & {"shape", "form", "location", "diameter"}
    if not (text.isascii() and text.isdecimal() and len(text) <= 9) or is_radius:
        return {}
    from advisor.records import job_records

    job, fields = job_records.kept_job(job_records.place(getattr(options, "records", None)), int(text))
    if getattr(options, "method", "") is None:
        options.method = job.method
    by = fields.pop("by", None)
    if getattr(options, "by", "") is None:
        options.by = by
    return fields


def _keep(options, advice, method):
    """Keep this job by a short number and return it; None, with a word of why, where that cannot be."""
    from advisor.records import job_records

    if options.records is None and job_records.nowhere():
        return None
    job = job_records.job_to_keep(advice=advice, method=method, fields=options.fields, program=version())
    try:
        return job_records.Records(job_records.place(options.records)).keep(job)
    except job_records.RecordError as problem:
        _complain(f"No job number: {problem}")
        return None


def _case_first(options):
    """Take a first argument that is a case for the case, and find the file of a case that is named."""
    from advisor.asked import worked

    if options.radius and not options.case and worked.is_case(options.radius):
        options.case, options.radius = options.radius, None
    if options.case:
        options.case = worked.case_path(options.case)


def _advise(options):
    target = _picture_target(options)
    advice = _advised(options)
    number = _keep(options, advice, advice.shown.name) if options.keep and advice.shown else None
    if target:
        _write_picture(target, advice.best or advice.ranked[0], advice, options)
    elif options.json:
        from advisor.show.as_json import answer

        _print_json(answer(advice) | ({"job": number} if number else {}))
    else:
        from advisor.show import onescreen, terminal

        show(terminal.screen(advice) if options.full else onescreen.screen(advice))
    if number and not options.json:
        say(f"\nJob {number}.")
    if options.picture and not target:
        _print_picture(advice.best or advice.ranked[0], advice)
    return 0 if advice.recommended else 1


def _advised(options):
    """The advice that the options ask for."""
    from advisor.answer.advice import advise, read_by

    if options.by is not None:
        read_by(options.by)
    callout, shop = read_job(options)
    return advise(callout, shop, records=_counting(options), by=read_by(options.by or "minutes"))


def _ask(options):
    from advisor.lists.pricing import Desk
    from advisor.show import ask as screens
    from advisor.study import interview

    _case_first(options)
    fields, read, shop = _job_so_far(options)
    talk = interview.begun(fields, [word for word in (options.unknown or "").split(",") if word.strip()])
    jobs = _counting(options)
    rules = Desk(shop, jobs).rules

    def step(talk):
        return interview.step(talk, read, shop, rules, minutes_too=options.minutes)

    now = step(talk)
    if options.json:
        _print_json(screens.state(now, talk, minutes_too=options.minutes))
        return DONE
    while now.question:
        show(screens.asked(now, talk))
        text = typed()
        if text is None or text.lower() in interview.QUIT:
            say(f"\nStopped. To go on from here:\n  {screens.command(talk, name='ask')}")
            return NO_METHOD
        if text.lower() in interview.BACK:
            talk = interview.back(talk)
            now = step(talk)
            continue
        try:
            further = interview.answer(talk, now.question, text or talk.said.get(now.question.name, ""))
            now, talk = step(further), further
        except InputError as problem:
            say(f"  {problem}")
    return _answered(now, talk, shop, jobs, options)


def _answered(now, talk, shop, jobs, options):
    """The end of an interview: that nothing else matters, the answer, and the command line for it."""
    from advisor.answer.advice import advise
    from advisor.show import ask as screens
    from advisor.show import onescreen

    advice = advise(now.callout, shop, records=jobs)
    show(screens.settled(now, talk, minutes_too=options.minutes))
    say("")
    show(onescreen.screen(advice))
    say(f"\nThe same again:\n  {screens.command(talk)}")
    return DONE if advice.recommended else NO_METHOD


def typed():
    """A line that somebody types, without blanks round it, or None at the end of the input. What comes from a file or a
    pipe is shown as it would stand if it had been typed."""
    try:
        if sys.stdin.isatty():
            return input("> ").strip()
        line = sys.stdin.readline()
    except EOFError:
        say("")
        return None
    except (AttributeError, OSError, ValueError):  # closed by whoever started the program, or not text
        return None
    say(f"> {line.strip()}")
    return line.strip() if line else None


def _practise(options):
    from advisor.records import job_records
    from advisor.study import practise

    count = job_records.count_of(options.count, "count", least=1) or 10
    if count > 100:
        raise CalloutError("count", options.count, "is more than a round holds", "Give 1 to 100.")
    path = practise.place(options.score)
    score = practise.read_score(path)
    seed = job_records.count_of(options.seed, "seed", least=0)
    answers = None if options.answers is None else [part.strip() for part in options.answers.split(";")]
    round_ = _Round(path, score._replace(rounds=score.rounds + 1), answers)
    try:
        round_.go(practise.ladder(score.rounds if seed is None else seed, count, score))
    except KeyboardInterrupt:
        say("")
    round_.end()
    return DONE


class _Round:
    """A round of practice at a terminal. score: so far, kept after every answer; answers: those given ahead."""

    def __init__(self, path, score, answers):
        self.path, self.score, self.answers = path, score, answers

    def go(self, ladder):
        """Ask for each callout in turn, until somebody stops."""
        for number, exercise in enumerate(ladder, 1):
            if not self.one(number, len(ladder), exercise):
                return

    def one(self, number, count, exercise):
        """One callout, and a number to set for it. Returns whether to go on."""
        from advisor.show import practise as screens
        from advisor.study import practise

        advice = practise.advice_on(exercise)
        show(screens.exercise(number, count, advice))
        said = self.ask(practise.read_choice)
        if said is None:
            return False
        if said:
            choice, reason = said
            judged = practise.judged(exercise, advice, choice)
            self.keep(practise.scored(self.score, exercise, judged))
            show(screens.result(exercise, advice, choice, judged, reason))
        else:
            show(screens.passed(advice))
        name = practise.setting(exercise, advice) if practise.asks_number(number, self.score) else None
        if name is None:
            return True
        show(screens.set_question(name, advice))
        said = self.ask(lambda text: (practise.read_setting(text, exercise.callout),))
        if said is None:
            return False
        right = bool(said) and practise.set_right(said[0], practise.reading(name, advice))
        if said:
            self.keep(practise.set_scored(self.score, right))
        show(screens.set_result(name, advice, right))
        return True

    def ask(self, read):
        """What somebody types, read; () where it is passed over, None where he stops."""
        while True:
            text = typed() if self.answers is None else self.ahead()
            if text is None or text.lower() in ("quit", "q", "stop"):
                return None
            if not text:
                return ()
            if text.lower() in ("?", "help"):
                from advisor.show import practise as screens

                show(screens.help_text())
                continue
            try:
                return read(text)
            except InputError as problem:
                say(f"  {problem}")

    def ahead(self):
        """The next of the answers that were given ahead."""
        if not self.answers:
            return None
        say(f"> {self.answers[0]}")
        return self.answers.pop(0)

    def keep(self, score):
        """The score as it is now, in its file."""
        from advisor.study import practise

        self.score = score
        if self.path is not None:
            practise.keep(score, self.path)

    def end(self):
        """The score on the screen."""
        from advisor.show import practise as screens

        show(screens.score_table(self.score, self.path))


def _job_so_far(options):
    """What the options and the case state, a function that reads a callout from such fields, and the shop."""
    from advisor.asked import callout as callouts

    job = _kept(options)
    given = job | _stated(options) | ({} if options.radius is None or job else {"radius": options.radius})
    case = callouts.open_case(options.case) if options.case is not None else None
    fields = (case.fields if case else {}) | given
    shop, known = _shop_and_known(fields, case)
    return fields, lambda fields: callouts.read_callout(fields, **known), shop


def _picture_target(options):
    """Where the pictures are to be written, or None."""
    if options.picture and options.json:
        raise CalloutError("--picture", "", "does not go with --json", "Give one of them.")
    if options.output is None:
        return None
    if not options.picture:
        raise CalloutError("--output", options.output, "has nothing to write", "Give --picture with it.")
    from advisor.ground import whole_files

    return whole_files.check(options.output, ("svg", "png", "pdf"), replace=options.replace)


def _write_picture(target, method, advice, options):
    from advisor.show import pictures

    pages = pictures.pages(method, advice, target.suffix.lower().removeprefix("."))
    _write(target, pages, options)


def _write(target, pages, options):
    from advisor.ground import whole_files

    say("Wrote " + ", ".join(map(str, whole_files.write(target, pages, replace=options.replace))))


def _print_picture(method, advice):
    from advisor.show import pictures

    say(pictures.screen(method, advice, ascii_only=_ascii_only()))


def _ascii_only(stream=None):
    """Whether a stream, the output if none is given, takes nothing but the plainest characters for sure: it is not
    UTF-8, or all is asked for in the locale that has no others."""
    encoding = (getattr(stream or sys.stdout, "encoding", None) or "utf").lower()
    asked = os.environ.get("LC_ALL") in ("C", "POSIX") and not os.environ.get("PYTHONIOENCODING")
    return asked or not encoding.startswith("utf")


def _as_taken(text, stream, *, exactly=False):
    """A text as a stream takes it, and without what a terminal would act on unless it is data for a program."""
    from advisor.ground.units import in_ascii, printable

    text = text if exactly else printable(text)
    return in_ascii(text) if _ascii_only(stream) else text


def _sheet(options):
    from advisor.show import sheet_content as sheets
    from advisor.show import sheet_pages as page

    _case_first(options)
    target = _target(options, page.ENDINGS)
    advice = _advised(options)
    paper = sheets.paper_named(options.paper, inch=advice.callout.units == "inch")
    chosen = sheets.chosen(advice, options.method)
    number = _keep(options, advice, chosen.name)
    made = sheets.sheet(advice, paper=paper, method=chosen.name, why=options.why, case=options.case, number=number)
    pages = page.rendered(made, target.suffix.lower().removeprefix("."))
    _write(target, pages, options)
    if number:
        say(f"Job {number}.")
    return DONE if advice.recommended else NO_METHOD


def _profile(options):
    from advisor.answer.advice import advise
    from advisor.drawing import edge_profile
    from advisor.engine import generated
    from advisor.show import dxf

    _case_first(options)
    target = _target(options, ("dxf",))
    callout, shop = read_job(options)
    made = edge_profile.profile(advise(callout, shop, executor=generated.run))
    _write(target, [dxf.rendered(made)], options)
    return 0


def _target(options, endings):
    """The file that is to be written, looked at before any work is done."""
    from advisor.ground import whole_files

    if options.output is None:
        raise CalloutError(
            "--output", "", "is missing", f"Give a file to write, such as -o {options.command}.{endings[0]}."
        )
    return whole_files.check(options.output, endings, replace=options.replace)


def _why(options):
    from advisor.show import why

    wanted = {"instead": options.instead, "derive": options.derive, "numbers": options.numbers, "if": options.what_if}
    asked = [name for name, given in wanted.items() if given]
    if len(asked) > 1:
        raise CalloutError(f"--{asked[1]}", "", f"does not go with --{asked[0]}", "Give one of them.")
    levels = why.levels_of(options.levels, derive=options.derive)
    target = _picture_target(options)
    advice = _advised(options)
    told = advice.best or advice.ranked[0]
    if options.instead:
        other = why.other_method(options.instead, advice)
        told = advice.methods[other]
    if target:
        _write_picture(target, told, advice, options)
        return 0 if advice.recommended else 1
    if options.instead:
        found, screen = why.instead_data, why.instead
        arguments = (advice, other)
    elif options.derive:
        found, screen, arguments = why.derived_data, why.derived, (advice, options.derive, levels)
    elif options.what_if is not None:
        found, screen, arguments = why.what_if_data, why.what_if, (advice, *_if(options))
    else:
        found, screen, arguments = why.answer, why.screen, (advice, options.numbers)
    if options.json:
        _print_json(found(*arguments))
    else:
        show(screen(*arguments))
    if options.picture:
        _print_picture(told, advice)
    return 0 if advice.recommended else 1


def _if(options):
    """The advice with what --if asks for, and that."""
    import copy

    from advisor.study.changes import what_if, with_tolerance

    asked_for = what_if(options.what_if)
    other = copy.copy(options)
    for name, text in _kept(other).items():  # of a job by its number: as if it had all been written
        if name == "radius" or getattr(other, name, None) is None:
            setattr(other, name, text)
    for name, text in asked_for.items():
        if name != "tolerance":
            setattr(other, name, text)
    callout, shop = read_job(other)
    if "tolerance" in asked_for:
        other.radius = with_tolerance(callout, asked_for["tolerance"])
    return _advised(other), asked_for


def _word(options):
    from advisor.show import words

    if options.output is not None:
        from advisor.ground import whole_files

        target = whole_files.check(options.output, ("svg", "png", "pdf"), replace=options.replace)
        _write(target, words.drawn(options.term, target.suffix.lower().removeprefix(".")), options)
        return DONE
    show(words.page(options.term) if options.term is not None else words.listing())
    return 0


def _materials(options):
    from advisor.show import materials as page

    show(page.page(options.name) if options.name is not None else page.listing())
    return 0


def _rules(options):
    from advisor.show import rulepages

    show(rulepages.page(options.name) if options.name is not None else rulepages.topics())
    return 0


def recorded(options):
    """The jobs recorded in the file that the options, the environment or the user's data folder name; () where none
    is."""
    from advisor.records import job_records

    if options.records is None and job_records.nowhere():
        return ()
    return job_records.jobs_in(job_records.place(options.records), stated=options.records is not None)


def _counting(options):
    """The recorded jobs that count: none with --without-records."""
    return () if options.without_records else recorded(options)


def _estimate(options):
    from advisor.answer.advice import advise, read_by
    from advisor.engine import generated
    from advisor.study.estimate import estimate, read_quantities

    if options.json and options.csv:
        raise CalloutError("--csv", "", "does not go with --json", "Give one of them.")
    quantities = read_quantities(options.quantities) if options.quantities is not None else ()
    callout, shop = read_job(options)
    by, jobs = read_by(options.by or "minutes"), recorded(options)
    found = estimate(callout, shop, quantities=quantities, records=() if options.without_records else jobs, by=by)
    if options.json:
        from advisor.show.estimate import answer

        _print_json(answer(found))
    elif options.csv:
        from advisor.show.estimate import sheet_text

        say(sheet_text(found), exactly=True)
    else:
        from advisor.show.estimate import screen

        drawn = (
            advise(callout, shop, executor=generated.run, records=jobs, by=by)
            if options.without_records and jobs
            else None
        )
        show(screen(found, drawn))
    return 0 if found.advice.recommended else 1


def _correct(options):
    from advisor.answer.advice import advise
    from advisor.asked import measured as given
    from advisor.engine import generated
    from advisor.records.job_records import method_of
    from advisor.study import correction

    _case_first(options)
    callout, shop = read_job(options)
    texts = {name: getattr(options, name.replace("-", "_")) for name in given.OPTIONS}
    measured = correction.read_measured(texts, units=callout.units)
    advice = advise(callout, shop, executor=generated.run, records=_counting(options))
    name = method_of(options.method) if options.method is not None else None
    if name is None:
        if advice.shown is None:
            raise CalloutError("method", "", "is missing, since none can be recommended", "Say how it was made.")
        name = advice.shown.name
    told = correction.correct(advice, name, measured)
    if options.json:
        from advisor.show.correct import answer

        _print_json(answer(told, advice))
    else:
        from advisor.show.correct import screen

        show(screen(told, advice))
    return DONE if told.verdict != "unknown" else NO_METHOD


def _record(options):
    import dataclasses

    from advisor.answer.advice import advise
    from advisor.engine import generated
    from advisor.records import job_records

    _case_first(options)
    callout, shop = read_job(options)
    if options.method is None:
        raise CalloutError("method", "", "is missing", "Say how the job was done, such as --method freehand.")
    took = {name: job_records.minutes_of(getattr(options, name), name) for name in ("tooling", "setup", "minutes")}
    misses = job_records.count_of(options.misses, "misses", least=0)
    if misses is None and all(value is None for value in took.values()):
        raise CalloutError(
            "minutes", "", "are missing", "Give --tooling, --setup, --minutes or --misses: what you know."
        )
    method = job_records.method_of(options.method)
    told = {"done_on": job_records.date_of(options.date, "date"), "note": job_records.text_of(options.note, "note")}
    pieces = job_records.count_of(options.pieces, "pieces", least=1)
    callout = dataclasses.replace(callout, quantity=pieces or callout.quantity)
    place = job_records.place(options.records)
    job = job_records.job_done(
        callout=callout,
        starting=advise(callout, shop, executor=generated.run),
        quoted=advise(callout, shop, executor=generated.run, records=job_records.jobs_in(place)),
        method=method,
        misses=misses,
        program=version(),
        **took,
        **told,
    )
    if not options.yes:
        _question(job_records.tenfold_off(job))
    job_records.Records(place).add(job)
    _confirm(
        f"Recorded {job.id} in {place}: {job.radius}, {job.pieces} off by {job.method}, "
        f"done {job.done_on}, in {job.shop}."
    )
    return 0


def _question(figures):
    """Ask after figures that are ten times off what was expected; where nobody can answer, they are refused.

    figures: list of (field, taken, expected) [min].
    """
    from advisor.answer import wording
    from advisor.records.job_records import RecordError

    for name, taken, expected in figures:
        times = f"{wording.number(taken / expected, 0)} times" if taken > expected else "less than a tenth of"
        problem = f"is {times} the {wording.minutes(expected)} that were expected"
        if sys.stdin is None or not sys.stdin.isatty():
            raise RecordError(name, wording.minutes(taken), problem, "Give --yes if it is right. Nothing was recorded.")
        say(f"{name}: {wording.minutes(taken)} {problem}. Is it right? (y or n) ", exactly=True)
        sys.stdout.flush()
        if not sys.stdin.readline().strip().lower().startswith("y"):
            raise RecordError(name, wording.minutes(taken), "is not right", "Give it again. Nothing was recorded.")


def _confirm(text):
    """Say what was stored for good. An output that takes nothing does not make it undone: then it is said elsewhere."""
    try:
        say(text)
        sys.stdout.flush()
    except OSError:
        _drop_output()
        _complain(text)


def _records(options):
    from advisor.records import job_records

    asks = ("export", "take", "not_typical", "typical", "put_aside", "take_back", "rescue")
    asked = [name for name in asks if getattr(options, name) is not None]
    if len(asked) + options.kept + options.verify > 1:
        raise CalloutError("records", "", "is asked for several things at once", "Ask for one at a time.")
    if options.why is not None and not set(asked) & {"not_typical", "typical", "put_aside", "take_back"}:
        fix = "Give it with --not-typical ID, --typical ID or --put-aside ID."
        raise CalloutError("--why", options.why, "marks nothing", fix)
    place = job_records.place(options.records)
    if options.verify or options.rescue is not None:
        return _looked_through(options, place)
    if options.put_aside is not None or options.take_back is not None:
        aside = options.put_aside is not None
        started = options.put_aside if aside else options.take_back
        job = job_records.Records(place).put_aside(started, why=options.why, aside=aside)
        _confirm(f"{job} is put aside: neither listed, counted nor exported." if aside else f"{job} is taken back.")
        return 0
    if options.take is not None:
        added, marked, known = job_records.Records(place).merge(job_records.read_csv(options.take))
        _confirm(f"{added} jobs added, {known} were there already, {marked} marks added, in {place}.")
        return 0
    if options.kept:
        from advisor.show.records import kept_data, kept_listing

        kept = job_records.kept_in(place)
        if options.json:
            _print_json(kept_data(kept))
        else:
            show(kept_listing(kept, place) if kept else f"No job is kept yet in {place}.")
        return 0
    jobs = job_records.jobs_in(place, stated=options.records is not None)
    if options.export is not None:
        job_records.export(options.export, jobs, records=place, replace=options.replace)
        _confirm(f"{len(jobs)} jobs written to {options.export}.")
    elif asked:
        typical = asked[0] == "typical"
        job = job_records.Records(place).mark(getattr(options, asked[0]), typical=typical, why=options.why)
        _confirm(f"{job.id} counts again." if typical else f"{job.id} is kept, and left out of the averages.")
    else:
        from advisor.show.records import jobs_data, listing

        if options.json:
            _print_json(jobs_data(jobs))
        else:
            aside = job_records.Records(place).aside() if place.exists() else ()
            show(listing(jobs, place, aside) if jobs or aside else f"Nothing is recorded yet in {place}.")
    return 0


def _looked_through(options, place):
    """Look for damage in the file of records, or save what can be read of it."""
    from advisor.records import safekeeping
    from advisor.show import records as tables

    if options.verify:
        report = safekeeping.verify(place)
        say(tables.found_out(report))
        return 2 if report.wrong else 0
    saved = safekeeping.rescue(place, options.rescue)
    say(tables.saved(saved, options.rescue))
    return 0


def _opened_list(options, **more):
    """A customer's list and the Order for it, with what its columns mean kept where that is asked for."""
    from advisor.answer.advice import read_by
    from advisor.ground import whole_files
    from advisor.lists import files, headings, pricing

    given = {"defaults": _stated(options), "records": _counting(options), "by": read_by(options.by)}
    source = files.open_source(options.list, sys.stdin and sys.stdin.buffer, headings.read_columns(options.columns))
    if options.command == "batch":
        given["delimiter"] = files.delimiter_for(options.output, source)
    order = pricing.order_for(source, shop=_usual_name(), **more, **given)
    if options.keep:
        kept = headings.kept_text(order.columns, sheet=getattr(source, "sheet", None), every_line=order.defaults)
        target = whole_files.check(options.keep, ("toml",), replace=options.replace)
        whole_files.write(target, [kept.encode()], replace=options.replace)
    return source, order


def _batch(options):
    from rich.console import Console

    from advisor.asked import shop as shops
    from advisor.lists import files, pricing
    from advisor.show import batch as page

    against = None if options.against is None else shops.read_shop(options.against).name
    source, order = _opened_list(options, against=options.against)
    told_to = sys.stderr if options.output == "-" and not options.dry_run else sys.stdout
    if options.dry_run:
        show(page.account(order, source), to=told_to)
        return _dry_run(source, order, told_to)
    with (
        files.open_target(options.output, order, replace=options.replace, stream=sys.stdout.buffer) as target,
        page.progress(Console(stderr=True, **AS_WRITTEN), source.total) as progress,
    ):
        show(page.account(order, source), to=told_to)
        tally = pricing.price_list(source, target, order, progress=progress)
    show(page.summary(tally, row=source.row, against=against), to=told_to)
    return 1 if tally.failed else 0


def _quote(options):
    import datetime

    from advisor.lists import quote as quotes
    from advisor.show import batch as accounts
    from advisor.show import quote as page

    target = _target(options, page.ENDINGS)
    given = {name: getattr(options, name) for name in ("customer", "number", "valid")}
    above = quotes.read_letterhead(day=datetime.date.today(), **given)
    source, order = _opened_list(options)
    show(accounts.account(order, source))
    found = quotes.quote(source, order)
    ending = target.suffix.lower().removeprefix(".")
    every_line = accounts.every_line(order, sent=True)
    pages = page.rendered(found, ending, every_line=every_line, above=above)
    show(page.screen(found))
    _write(target, pages, options)
    return DONE if all(line.prices for line in found.lines) else NO_METHOD


def _worth(options):
    from advisor.lists import worth as purchases
    from advisor.show import batch as accounts
    from advisor.show import worth as page

    source, order = _opened_list(options)
    if not options.json:
        show(accounts.account(order, source))
    found = purchases.worth(source, order)
    if options.json:
        _print_json(page.answer(found))
    else:
        show(page.screen(found))
    return DONE


def _dry_run(source, order, to):
    from advisor.lists import pricing
    from advisor.show import batch as page

    readings = pricing.read_list(source, order)
    for part in page.readings(readings, row=source.row):
        show(part, to=to)
    return 1 if readings.failed else 0


def _map(options):
    import shutil

    from advisor.ground import whole_files
    from advisor.lists.pricing import Desk
    from advisor.show import map as page
    from advisor.study import mapping

    target = None
    if options.output is not None:
        target = whole_files.check(options.output, page.KINDS, replace=options.replace)
    callout, shop = read_job(options)
    ends = {name: {"low": getattr(options, f"{name}_from"), "high": getattr(options, f"{name}_to")} for name in "xy"}
    axes = {name: mapping.axis_for(getattr(options, name), callout, option=f"--{name}", **ends[name]) for name in "xy"}
    rules = Desk(shop, _counting(options)).rules
    if target is not None:
        drawn = page.picture(mapping.survey(callout, shop, rules=rules, **axes), target.suffix.lower())
        whole_files.write(target, [drawn], replace=options.replace)
        return 0
    width = shutil.get_terminal_size().columns if sys.stdout.isatty() else _plain_width()
    size = (max(min(width, 110) - page.MARGIN, 20), page.ROWS)
    show(page.screen(mapping.survey(callout, shop, rules=rules, size=size, **axes)))
    return 0


def _usual_name():
    """Name or path of the shop that counts where none is named."""
    from advisor.asked import settings
    from advisor.asked import shop as shops

    return settings.usual_shop(shops.USUAL_SHOP)[0]


def _shop(options):
    doing = {"new": _new_shop, "use": _use_shop, "measure": _measure_shop}.get(options.what)
    given = {"name": options.name, "--units": options.units, "--output": options.output, "--replace": options.replace}
    takes = {"new": ("name", "--units", "--replace"), "use": ("name", "--units")}
    takes["measure"] = ("name", "--units", "--output", "--replace")
    for option, value in given.items():
        if value and option not in takes.get(options.what, ()):
            after = f"shop {options.what}" if options.what else "shop"
            fix = (
                "It goes with turn-radius shop " + " or ".join(w for w, names in takes.items() if option in names) + "."
            )
            raise CalloutError(option, "" if value is True else value, f"does not go with {after}", fix)
    if options.units not in (None, "mm", "inch"):
        raise CalloutError("--units", options.units, "is not known", "Give mm or inch.")
    if doing:
        return doing(options)
    return _show_shop(options.what) if options.what else _list_shops()


def _list_shops():
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.show import shop as page

    def read(path):
        try:
            return shops.read_shop(path)
        except ShopError as problem:
            return path.stem, f"{len(problem.each)} wrong: turn-radius check {path}"

    folder = shops.own_shops()
    own = [read(folder / f"{name}.toml") for name in shops.own_names()]
    usual, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    carried = [read(path) for path in sorted(shops.SHOPS.glob("*.toml"), key=lambda path: path.stem)]
    show(page.listing(carried, own, shown_path(usual), chosen_by))
    return DONE


def _show_shop(name):
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.asked.new_shop import still_invented
    from advisor.show import shop as page
    from advisor.study.ability import ability

    shop = shops.read_shop(name)
    usual, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    counts = chosen_by if settings.lasting(name) == usual else ""
    invented = still_invented(shops.written_tables(name), shop.units)
    show(page.page(ability(shop), chosen_by=counts, invented=invented))
    return DONE


def _new_shop(options):
    from advisor.asked import new_shop, settings
    from advisor.asked import shop as shops
    from advisor.ground import whole_files

    path = shops.new_place(options.name or "my-shop")
    path = whole_files.check(path, ("toml",), replace=options.replace, field="shop", error=ShopError)
    units = options.units or settings.read().units or "mm"
    whole_files.write(path, [new_shop.text(units, path.stem).encode()], replace=options.replace)
    of = "inches" if units == "inch" else "millimetres"
    known = options.name and path.parent != shops.own_shops()
    name = str(path) if known else path.stem
    _confirm(
        f"Wrote {path}, in {of}. Open it, put your own figures in, and take the # away in front of what you have.\n"
        f"Then: turn-radius check {path}\n      turn-radius shop use {name}"
    )
    return DONE


def _measure_shop(options):
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.ground import whole_files
    from advisor.show import measuring

    target = None
    if options.output is not None:
        target = whole_files.check(options.output, ("svg", "png", "pdf"), replace=options.replace)
    shop = shops.read_shop(options.name) if options.name else None
    units = options.units or (shop.units if shop else settings.read().units or "mm")
    if target:
        _write(target, measuring.pages(shop, units, target.suffix.lower().removeprefix(".")), options)
    else:
        say(measuring.screen(shop, units, ascii_only=_ascii_only()))
    return DONE


def _use_shop(options):
    from advisor.asked import new_shop, settings
    from advisor.asked import shop as shops

    if options.name is None and options.units is None:
        name, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
        units = settings.read().units
        say(f"Shop: {shown_path(name)} ({chosen_by}). Unit: {units or 'as the callout says'}.")
        return DONE
    changed = {"units": options.units} if options.units else {}
    told = []
    if options.name is not None:
        shop = shops.read_shop(options.name)
        changed["shop"] = settings.lasting(options.name)
        told.append(f"{shop.name} is now the shop where none is named")
        if new_shop.still_invented(shops.written_tables(options.name), shop.units):
            told.append(
                "most of its figures are still the invented lathe's, so measure yours before you rely on an answer"
            )
    if options.units:
        unit = "inches" if options.units == "inch" else "mm"
        told.append(f"sizes without a unit on the command line are now in {unit}")
    place = settings.keep(**changed)
    _confirm(f"{'; '.join(told)}. Kept in {place}.")
    return DONE


def _check(options):
    from advisor.asked.shop import USUAL_SHOP
    from advisor.show import checks as tables
    from advisor.verify.check_files import check

    if options.sample is not None and not (options.prove and 1 <= options.sample <= 100_000_000):
        fix = "Give 1 or more, together with --prove."
        raise CalloutError("--sample", options.sample, "is no number of callouts to prove over", fix)
    checked = check(options.files, shop=_usual_name() if options.files else USUAL_SHOP)
    show(tables.files(checked))
    fine = all(one.fine for one in checked)
    if options.prove and fine:
        from advisor.verify.check_files import to_prove
        from advisor.verify.prove_rules import CHECKS, prove

        proved = prove(*to_prove(checked), count=options.sample or 1_000_000)
        show(tables.proof(proved, CHECKS))
        say(tables.failures(proved, CHECKS))
        fine = not proved.failures
    return 0 if fine else 2


def _page(options):
    from advisor.page import serve

    port = 0 if options.check and options.port is None else serve.read_port(options.port)
    place = serve.Place(options.host or serve.HOST, port)
    from advisor.page.app import Page

    app = Page(hosts=place.names, records=options.records, token=place.token)
    if options.check:
        status, size, _ = serve.checked(app, place)
        say(f"The page starts: its first screen answers {status} with {size:,} bytes.")
        return DONE if status == 200 else FAULT

    def ready():
        say(f"The page stands at {place.address}\nCtrl-C stops it.")
        sys.stdout.flush()
        if not options.no_browser and place.token is None:
            import threading
            import webbrowser

            threading.Thread(target=webbrowser.open, args=(place.address,), daemon=True).start()

    serve.serve(app, place, ready=ready)
    return DONE


def _cases(options):
    from advisor.show import worked

    show(worked.listing())
    return DONE


def _help(options):
    top = parser()
    known = top.commands.choices
    if options.name is not None and options.name not in known:
        from advisor.ground.errors import did_you_mean

        fix = f"{did_you_mean(options.name, known)}Give one of {', '.join(known)}."
        raise CalloutError("help", options.name, "is not a command", fix)
    say((known[options.name] if options.name else top).format_help(), exactly=True)
    return DONE


def _print_json(data):
    import json

    say(json.dumps(data, ensure_ascii=_ascii_only(), indent=1) + "\n", exactly=True)


AS_WRITTEN = {"highlight": False, "markup": False, "emoji": False}  # no words of others are markup


class _Shown:
    """Something for a terminal, on which no words in it act."""

    def __init__(self, renderable):
        self.renderable = renderable

    def __rich_console__(self, console, options):
        from rich.segment import Segment

        for segment in console.render(self.renderable, options):
            yield segment if segment.control else Segment(_as_taken(segment.text, console.file), segment.style)


def show(renderable, to=None):
    """Print something to a terminal as wide as it is, or as plain lines of 80 columns (or $COLUMNS) to a file or
    pipe."""
    from rich.console import Console

    to = to or sys.stdout
    if _ascii_only(to):
        from advisor.ground.units import in_ascii
        from advisor.show.blocks import put

        renderable = put(renderable, in_ascii)
    if to.isatty():
        try:
            Console(file=to, **AS_WRITTEN).print(_Shown(renderable))
        except BrokenPipeError:
            _drop_output()
        return
    console = Console(width=_plain_width(), color_system=None, **AS_WRITTEN)
    with console.capture() as captured:
        console.print(renderable)
    lines = "\n".join(line.rstrip() for line in captured.get().splitlines())
    if to is sys.stderr:
        _complain(lines)
    else:
        say(lines)


def _plain_width():
    asked = os.environ.get("COLUMNS", "")
    return int(asked) if asked.isdecimal() and 40 <= int(asked) <= 400 else 80


if __name__ == "__main__":
    sys.exit(main())
