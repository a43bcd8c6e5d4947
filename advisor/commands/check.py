"""`check`: files checked, and the rule base proved."""

from argparse import Namespace

from advisor.commands import on_a_callout
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, REFUSED, Door
from advisor.ground.errors import CalloutError

HELP = "check rule, shop, case and list files; prove the rule base"


def options(parser: Parser) -> None:
    parser.add_argument(
        "files", nargs="*", metavar="FILE", help="files or folders; the program's own if none are named"
    )
    parser.add_argument(
        "--prove", action="store_true", help="prove over many callouts that no rule is dead, hidden or contradicted"
    )
    parser.add_argument("--sample", type=int, metavar="N", help="callouts for --prove, a million if not given")


def run(options: Namespace, door: Door) -> int:
    """What is wrong with the files, and where the rule base fails."""
    from advisor.asked.shop import USUAL_SHOP
    from advisor.show import checks as tables
    from advisor.verify.check_files import check, to_prove

    if options.sample is not None and not (options.prove and 1 <= options.sample <= 100_000_000):
        fix = "Give 1 or more, together with --prove."
        raise CalloutError("--sample", options.sample, "is no number of callouts to prove over", fix)
    checked = check(options.files, shop=on_a_callout.usual_name() if options.files else USUAL_SHOP)
    door.show(tables.files(checked))
    fine = all(one.fine for one in checked)
    if options.prove and fine:
        from advisor.verify.prove_rules import CHECKS, prove

        proved = prove(*to_prove(checked), count=options.sample or 1_000_000)
        door.show(tables.proof(proved, CHECKS))
        door.say(tables.failures(proved, CHECKS))
        fine = not proved.failures
    return DONE if fine else REFUSED
