"""What the rule base answers to every worked case and to the callouts below, as lines of text that show at a glance what
a change moves: of a worked case in a file beside it, of the others in one file."""

from functools import cache
from pathlib import Path

from advisor.answer import advice
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated

HOUSE = Path(__file__).parent.parent
NEAR_A_LIMIT = Path(__file__).parent / "golden" / "near_a_limit.txt"
CASES = sorted((HOUSE / "cases").glob("*.toml"))
SHOPS = [HOUSE / "cases" / "shops", HOUSE / "tests" / "judged" / "shops", HOUSE / "tests" / "lacking"]


def near(shop, radius, form, location, diameter, why, **fields):
    """A callout that lies close to where a limit decides, or in a shop that lacks something; why: what it shows."""
    return shop, why, {"radius": radius, "form": form, "location": location, "diameter": diameter, **fields}


# fmt: off
NEAR = {
    # Shops in which something is missing, or was never measured.
    "bare corner": near("bare-bench", "R2 ±0.2", "convex", "corner", "20 mm", stickout="22 mm",
        why="no grinder, no file, no top slide, a chuck that nobody rated; 20 mm from the jaws it is stoned by hand"),
    "bare sheave, 1.46 mm deep": near("bare-bench", "R20 ±0.3", "concave", "outside diameter", "60 mm", width="15 mm",
        from_end="20 mm", why="no file; feelers of 1.5 mm just measure it; the edge runs hot at the slowest speed"),
    "bare sheave, 1.54 mm deep": near("bare-bench", "R30 ±0.3", "concave", "outside diameter", "60 mm", width="19 mm",
        from_end="20 mm", why="just deeper than the feelers"),
    "bare crown, 12.5 mm wide": near("bare-bench", "R20 ±0.3", "convex", "outside diameter", "40 mm", width="12.5 mm",
        from_end="30 mm", why="just long enough to lay a straightedge on"),
    "bare crown, 11.5 mm wide": near("bare-bench", "R60 ±2", "convex", "outside diameter", "40 mm", width="11.5 mm",
        from_end="30 mm", finish="Ra 1.6 um", why="too short for the straightedge; no nose radius is stated"),
    "bare bush": near("bare-bench", "R8 ±0.2", "concave", "outside diameter", "80 mm", width="14 mm", from_end="40 mm",
        material="bronze", quantity=10, why="the full edge takes just more than the motor gives"),
    "dome, rounds never measured": near("no-domes", "R25 ±0.2", "convex", "end", "30 mm", stickout="40 mm", quantity=4,
        why="attachment, rod seats and compound are there, but no shop file tells what they do on this side"),
    "dish, hollows never measured": near("no-hollows", "R30 ±0.2", "concave", "end", "40 mm", width="30 mm",
        stickout="40 mm", quantity=4, why="the same for hollows"),
    "dish of R98": near("few-gauges", "R98 ±1", "concave", "end", "60 mm", width="50 mm", stickout="40 mm",
        why="a plug of 2R can just be turned"),
    "dome of R103": near("few-gauges", "R103 ±1", "convex", "end", "60 mm", quantity=4,
        why="a plate of 2R is just too large to bore"),
    "dish of R240": near("few-gauges", "R240 ±3", "concave", "end", "100 mm", width="90 mm", stickout="40 mm",
        why="trammels just scribe it on sheet"),
    "dish of R255": near("few-gauges", "R255 ±3", "concave", "end", "100 mm", width="90 mm", stickout="40 mm",
        why="trammels do not, and nothing else in the shop shows it"),
    "two pins of 2.9 mm": near("two-old-lathes", "R4 ±0.2", "concave", "outside diameter", "20 mm", width="4.6 mm",
        from_end="20 mm", why="just too small to handle"),
    "two pins of 7.8 mm": near("two-old-lathes", "R9 ±0.2", "concave", "outside diameter", "40 mm", width="14 mm",
        from_end="30 mm", why="just small enough to span with a micrometer"),
    "two pins of 8.2 mm": near("two-old-lathes", "R10 ±0.2", "concave", "outside diameter", "40 mm", width="14 mm",
        from_end="30 mm", why="just too large"),
    "filed at 1200 rpm": near("two-old-lathes", "R1.5 ±0.3", "convex", "corner", "8 mm", lathe="gap lathe",
        material="brass", quantity=6, why="as fast as anybody should file; a slide whose front nobody measured"),
    "filed below 1250 rpm": near("two-old-lathes", "R1.5 ±0.3", "convex", "corner", "8 mm", lathe="short lathe",
        material="brass", quantity=6, why="1250 rpm is too fast, 800 rpm is the next; no compound on this lathe"),
    # Fillets, and grooves that are the point of a tool.
    "fillet of any radius": near("training-shop", "R2 MAX", "concave", "corner", "20 mm", shoulder_height="5 mm",
        quantity=20, why="MAX alone: the nose that turns the diameter leaves it"),
    "fillet, a tenth at least": near("training-shop", "R2 +0/-1.8", "concave", "corner", "20 mm",
        shoulder_height="5 mm", quantity=20, why="0.2 to 2 mm is just as good as MAX alone"),
    "fillet, more than a tenth": near("training-shop", "R2.9 +0/-2.6", "concave", "corner", "20 mm",
        shoulder_height="5 mm", quantity=20, why="0.3 to 2.9 mm is not"),
    "fillet of R4": near("training-shop", "R4 ±0.2", "concave", "corner", "30 mm", shoulder_height="6 mm", quantity=6,
        why="the largest that is fed like turning"),
    "fillet of R1.5": near("school", "R1.5 ±0.2", "concave", "corner", "20 mm", shoulder_height="5 mm", quantity=10,
        skill="apprentice", why="1.5 mm of metal is what roughing leaves: nothing to rough"),
    "fillet of R0.4 in stainless": near("training-shop", "R0.4 ±0.05", "concave", "corner", "16 mm",
        shoulder_height="3 mm", material="austenitic stainless steel", quantity=10,
        why="the light behind a leaf just shows it"),
    "cord groove": near("inch-job-shop", "R.019 ±.003", "concave", "outside diameter", ".5 in", width=".036 in",
        from_end=".5 in", units="inch", finish="Ra 20 uin", why="a point that breaks; 20 uin is just not polished"),
    "wire groove": near("inch-job-shop", "R.038 ±.005", "concave", "outside diameter", ".5 in", width=".07 in",
        from_end=".5 in", units="inch", quantity=10, why="just too small to lead by hand"),
    "groove of R0.5": near("training-shop", "R0.5 ±0.1", "concave", "outside diameter", "25 mm", width="1 mm",
        from_end="25 mm", quantity=20, why="just no longer a point that breaks"),
    "groove by the nose": near("inch-job-shop", "R.0625 ±.002", "concave", "outside diameter", ".5 in",
        width=".125 in", from_end=".375 in", units="inch", material="stainless steel", quantity=500,
        why="the round nose of the shop has its radius, but nobody checked it"),
    # Edges with rake, hard work, and work near the jaws.
    "copper crown": near("training-shop", "R6 ±0.2", "convex", "outside diameter", "40 mm", width="10 mm",
        from_end="30 mm", material="copper", quantity=12, why="an edge with rake, which no leaf proves"),
    "crown of R4": near("training-shop", "R4 ±0.2", "convex", "outside diameter", "40 mm", width="4 mm",
        from_end="30 mm", material="12L14", quantity=6, why="a tool of this radius lies on the shelf"),
    "shaft of 450 HB": near("heavy-repair-lathe", "R6 ±0.3", "concave", "outside diameter", "60 mm", width="10 mm",
        from_end="40 mm", material="tool steel", hardness="450 HB", tool="carbide",
        why="carbide just takes an ordinary cut"),
    "shaft of 460 HB": near("heavy-repair-lathe", "R6 ±0.3", "convex", "corner", "60 mm", material="tool steel",
        hardness="460 HB", tool="carbide", why="carbide takes light cuts only"),
    "groove of 550 HB": near("inch-job-shop", "R6 ±0.3", "concave", "outside diameter", "40 mm", width="10 mm",
        from_end="15 mm", stickout="75 mm", material="tool steel", hardness="550 HB", tool="carbide",
        why="a file skates, and carbide only just turns it"),
    "corner of 550 HB": near("inch-job-shop", "R6 ±0.3", "convex", "corner", "40 mm", stickout="22 mm",
        material="tool steel", hardness="550 HB", tool="carbide", why="stoned, and 16 mm from the jaws"),
    "corner 25 mm from the jaws": near("training-shop", "R1 ±0.3", "convex", "corner", "20 mm", stickout="26 mm",
        why="just room for a file"),
    "corner of R1": near("school", "R1 ±0.1", "convex", "corner", "20 mm",
        why="one round of gauging: no longer broken with a file and done"),
    "corner of R0.75": near("school", "R0.75 ±0.1", "convex", "corner", "6 mm", quantity=25,
        why="too small for a leaf: a loupe, which just does"),
    "domes that show no flats": near("school", "CR25 ±0.3", "convex", "end", "40 mm", quantity=2,
        why="CR takes no flats; facets by the compound's angle have to be blended out"),
    # What swings in a groove, and what the attachment just reaches.
    "groove, 5.8 mm left": near("training-shop", "R8 ±0.2", "concave", "outside diameter", "40 mm", width="14.7 mm",
        from_end="40 mm", why="a swung shank of 10 mm, a millimetre clear, wants 6 mm: it fouls"),
    "groove, 6.03 mm left": near("school", "R9 ±0.2", "concave", "outside diameter", "40 mm", width="16.8 mm",
        from_end="30 mm", why="the shank just clears it"),
    "groove, 5.95 mm left": near("training-shop", "R6 ±0.3", "concave", "outside diameter", "24 mm", width="9 mm",
        from_end="24 mm", why="the shank just fouls it, by 0.05 mm"),
    "rope groove": near("jobbing-shop", "R20 ±0.15", "concave", "outside diameter", "80 mm", width="39 mm",
        from_end="80 mm", why="the arm's holder leans so far that it stands nearly 50 mm out"),
    "small groove": near("training-shop", "R2.5 ±0.1", "concave", "outside diameter", "12 mm", width="4.2 mm",
        from_end="12 mm", why="the tool post leans so far that it stands nearly 50 mm out"),
    "wide groove": near("training-shop", "R30 ±0.2", "concave", "outside diameter", "100 mm", width="51 mm",
        from_end="60 mm", why="a little more than 50 mm out"),
    "corner of R3.75": near("school", "R3.75 ±0.05", "convex", "corner", "20 mm",
        why="just misses the attachment, which gets there with the tool further out"),
    "dome of R120": near("heavy-repair-lathe", "R120 ±2", "convex", "end", "60 mm",
        why="a twelfth past the compound's reach is no near miss"),
    "dish of R46": near("few-gauges", "R46 ±1", "concave", "end", "120 mm", width="55 mm",
        why="the compound reaches no more than the very limit"),
    "dome of R20": near("training-shop", "R20 ±0.2", "convex", "end", "40 mm",
        why="the nose may lie just under 1.5 mm beside the line through the pivot: not by eye alone"),
    "dome of R193": near("training-shop", "R193 ±2", "convex", "end", "230 mm",
        why="the rod just spans chuck, rim and tool"),
    "dome of R192.5": near("training-shop", "R192.5 ±2", "convex", "end", "230 mm",
        why="the rod just does not"),
    "disc of 155 mm": near("heavy-repair-lathe", "R150 ±1", "convex", "end", "155 mm",
        why="just too large to turn over a swung compound that nobody measured"),
    # Work that bends, breaks off, stalls the motor or does not clear the slides.
    "slender neck": near("training-shop", "R2.5 ±0.1", "concave", "outside diameter", "8 mm", width="4 mm",
        from_end="5 mm", stickout="56 mm", material="tool steel", why="it climbs even on a crept feed"),
    "slender corner": near("model-bench", "R1 ±0.1", "convex", "corner", "4 mm", stickout="28 mm",
        why="it climbs at the ordinary feed and just does not on a crept one"),
    "thin neck": near("training-shop", "R8 ±0.2", "concave", "outside diameter", "14 mm", width="15 mm",
        from_end="12 mm", why="the form is far wider than what it leaves: it breaks the work off"),
    "hot crown": near("worn-farm-lathe", "R12 ±0.2", "convex", "outside diameter", "150 mm", width="24 mm",
        from_end="75 mm", material="austenitic stainless steel", quantity=10, why="the motor just does it"),
    "flange crown, 35 mm behind the face": near("training-shop", "R20 ±1", "convex", "outside diameter", "220 mm",
        width="15 mm", from_end="20 mm", stickout="60 mm", why="does not clear the cross slide, and the tool just reaches"),
    "flange crown, 42 mm behind the face": near("jobbing-shop", "R20 ±1", "convex", "outside diameter", "300 mm",
        width="20 mm", from_end="22 mm", stickout="80 mm", why="the tool just does not reach"),
    # Dishes, domes and what shows their radius.
    "dish of R35": near("training-shop", "R35 ±0.3", "concave", "end", "50 mm", width="40 mm", stickout="40 mm",
        why="8.2 deg of clearance: the tool has to be ground for it"),
    "dish of R37": near("training-shop", "R37 ±0.3", "concave", "end", "50 mm", width="40 mm", stickout="40 mm",
        why="7.8 deg: it clears as it is"),
    "cup of 123 deg": near("school", "R10 ±0.1", "concave", "end", "30 mm", width="17.6 mm", quantity=2,
        why="so round that its depth proves nothing"),
    "ring of 7.7 mm": near("school", "R6.4 ±0.15", "convex", "end", "8.5 mm", stickout="20 mm",
        why="too small for a depth micrometer to reach through"),
    "ring of 8.1 mm": near("model-bench", "R13.5 ±0.2", "convex", "end", "9 mm", stickout="20 mm",
        why="just large enough"),
    "bored dome": near("training-shop", "R40 ±0.2", "convex", "end", "50 mm", bore="20 mm", quantity=4,
        why="no crest to measure from"),
    "dish, 0.77 mm deep": near("training-shop", "R20 ±0.2", "concave", "end", "30 mm", width="11 mm",
        why="just more than one roughing pass"),
    "crown, 0.515 mm to rough": near("school", "R25 ±0.5", "convex", "outside diameter", "30 mm", width="10.2 mm",
        from_end="30 mm", skill="apprentice", quantity=10, why="stepped off, and just worth roughing first"),
    "bright dome": near("school", "R20 ±0.2", "convex", "end", "40 mm", finish="Ra 0.05 um",
        why="finer than the feed that a hand keeps even"),
    # A lathe with no slow speed, hardly any bed and no compound; and what no other callout here meets.
    "titanium crown, 220 m/min at the slowest": near("quick-and-short", "R20 ±0.3", "convex", "outside diameter",
        "100 mm", width="10 mm", from_end="10 mm", stickout="40 mm", material="titanium alloy",
        why="the slowest speed burns the tool"),
    "brass corner, 130 m/min at the slowest": near("quick-and-short", "R2 ±0.3", "convex", "corner", "60 mm",
        stickout="45 mm", material="brass", why="too fast for a file: filed standing still"),
    "groove at the jaws of a short bed": near("quick-and-short", "R8 ±0.2", "concave", "outside diameter", "30 mm",
        width="12 mm", from_end="44 mm", stickout="59 mm", material="aluminium alloy",
        why="no room beside the jaws, and no bed to let it out"),
    "groove near the jaws of a short bed": near("quick-and-short", "R8 ±0.2", "concave", "outside diameter", "30 mm",
        width="12 mm", from_end="40 mm", stickout="55 mm", material="aluminium alloy",
        why="just room for a tool, none for a hand"),
    "dome with rod seats and no compound": near("quick-and-short", "R60 ±0.3", "convex", "end", "40 mm",
        stickout="40 mm", quantity=12, why="nothing puts the depth on"),
    "nickel groove": near("training-shop", "R6 ±0.2", "concave", "outside diameter", "40 mm", width="10 mm",
        from_end="30 mm", material="nickel superalloy", quantity=4, why="a fluid of its own"),
    "brass groove by hand": near("training-shop", "R12 ±0.5", "concave", "outside diameter", "40 mm", width="14 mm",
        from_end="30 mm", material="brass", why="scraped, not filed"),
    # The choice itself.
    "corners of R6": near("school", "R6 ±0.15", "convex", "corner", "25 mm", quantity=8,
        why="the second method takes just over a fifth more"),
}
# fmt: on


@cache
def read_shop(name):
    """A shop by its name, of any folder of shops that tests use."""
    return shops.read_shop(next(folder / f"{name}.toml" for folder in SHOPS if (folder / f"{name}.toml").exists()))


@cache
def stated(path):
    """What the rules are given of a case, and what its shop values otherwise."""
    shop = shops.read_shop(callouts.open_case(path).fields.get("shop", "training-shop"))
    callout = callouts.read_case(path, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    return advice.givens(callout, shop, advice.lathe_for(callout, shop)), advice.overrides(shop)


@cache
def stated_near(name):
    """The same of a callout of NEAR."""
    shop_name, _, fields = NEAR[name]
    shop = read_shop(shop_name)
    callout = callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    lathe = advice.lathe_for(callout, shop)
    return advice.givens(advice.with_tool_at_hand(callout, lathe), shop, lathe), advice.overrides(shop)


def answer(title, given, own, rules):
    """The lines of one callout: what is recommended, each method's minutes, and every rule and step that fires with
    what it tells."""
    outcome = generated.run(rules.revalued(own), given)
    order = advice.ranking(rules, outcome.values)
    minutes = [
        f"{m['name']} {outcome.values[m['prefix'] + '_batch_mean']:.3g}" + ("" if m["name"] in order else " out")
        for m in rules.methods
    ]
    close = "a close call" if outcome.values["close_call"] and len(order) > 1 else "clear"
    fired = sorted((rule for rule in outcome.fired if rule.when or rule.mentions), key=lambda rule: rule.id)
    return [
        *title,
        f"  {order[0] if order else 'no method'}, {close}",
        f"  minutes: {', '.join(minutes)}",
        *(f"  {rule.id}{told(rule, outcome.values)}" for rule in fired),
    ]


def told(rule, values):
    """The numbers that the sentences of a rule put in."""
    numbers = [name for name in rule.mentions if isinstance(values[name], float)]
    return (": " + ", ".join(f"{name} {values[name]:.4g}" for name in numbers)) if numbers else ""


def answers(rules):
    """Pairs (file, its lines as one text): the answer to each worked case, then what is said always and the answers to
    NEAR."""
    for path in CASES:
        yield path.with_suffix(".txt"), "\n".join(answer([path.stem], *stated(path), rules)) + "\n"
    near_a_limit = ["\n".join(["said always", *(f"  {rule.id}" for rule in rules.rules if not rule.when)])]
    for name, (shop, why, _) in NEAR.items():
        near_a_limit.append("\n".join(answer([f"{name} ({shop})", f"  {why}"], *stated_near(name), rules)))
    yield NEAR_A_LIMIT, "\n\n".join(near_a_limit) + "\n"
