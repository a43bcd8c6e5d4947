"""Where each number of a screen comes from: the names behind its rows, and the equations of what only a screen has."""

from advisor.answer import wording
from advisor.formulas import form_tool, freehand, gauging
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.show import rows
from advisor.study import derive, equations

COMMON_ROWS = {
    "Straight turning": ("straight_rpm",),
    "Spindle": lambda m: (_rpm(m.prefix), f"{'form_tool_set' if m.prefix == 'form_tool' else 'finish'}_surface_speed"),
}
METHOD_ROWS: dict[str, dict[str, tuple[str, ...]]] = {
    "form tool": {
        "Edge radius": ("radius",),
        "Edge width": ("edge_width",),
        "Edge in the cut": ("edge_in_cut",),
        "Feed in": ("form_tool_infeed",),
        "From the touch": ("feed_from_touch",),
        "Relief and rake": ("form_relief", "edge_rake"),
        "Plain arc instead": ("plain_arc_error",),
        "Feed": ("form_tool_set_feed",),
        "Other speeds": ("form_tool_rpm_down", "form_tool_rpm_up"),
        "Force, power": ("form_tool_force", "form_tool_power", "form_tool_deflection"),
    },
    "freehand": {
        "First chamfer": ("chamfer_leg",),
        "Then facets": ("standing_after_three",),
        "Round nose": ("freehand_nose",),
        "Way": ("steps_off", "freehand_rounds"),
        "Facets": ("facets_over", "facet_width"),
        "Compound at": ("facets_over",),
        "Facets leave": ("facet_standing",),
        "Cusps left": ("freehand_cusp",),
        "Filing": ("filing_rpm",),
    },
    "pivot attachment": {
        "Tip to pivot": ("pivot_radius",),
        "From the post": ("post_reading",),
        "Pivot from the axis": ("pivot_from_axis",),
        "Pivot from the face": ("pivot_from_face",),
        "Swing": ("pivot_sweep",),
        "Passes": ("pivot_passes",),
        "Stickout": ("pivot_stickout",),
        "Tip off centre height at most": ("pivot_height_allowance",),
        "Pivot off its place at most": ("pivot_offset_allowance",),
        "Nose beside the line through the pivot at most": ("pivot_aside_allowance",),
        "Tool overhang": ("pivot_overhang",),
        "Cross slide from the touch": ("pivot_wind_to_axis",),
    },
    "radius rod": {
        "Rod, seat to seat": ("rod_length", "rod_radius"),
        "Over the ball ends": ("rod_overall",),
        "Tool nose": ("turning_nose",),
        "Rod between": (),
        "Tilt at the rim": ("rod_tilt",),
        "Cross travel": ("rod_cross_travel",),
        "Carriage travel": ("rod_carriage_travel",),
        "Passes": ("rod_passes",),
        "Seats out of line at most": ("rod_offset_allowance",),
    },
    "swung compound": {
        "Tip to swivel": ("compound_radius",),
        "Swivel from the axis": ("compound_from_axis",),
        "Swivel from the face": ("compound_from_face",),
        "Swing": ("compound_sweep",),
        "Passes": ("compound_passes",),
        "Stickout": ("compound_stickout",),
        "Tip off centre height at most": ("compound_height_allowance",),
        "Swivel off its place at most": ("compound_offset_allowance",),
        "Nose beside the line through the swivel at most": ("compound_aside_allowance",),
        "Tool overhang": ("compound_overhang",),
        "Cross slide from the touch": ("compound_wind_to_axis",),
    },
}
# What the layout lines of each shape show, in their order: a name of the rule base, or an equation of chord w, diameter D
# and distance from the end e.
LINES = {
    ("corner", "convex"): ("radius", "radius"),
    ("corner", "concave"): ("radius", "radius"),
    ("end", "convex"): ("depth",),
    ("end", "concave"): ("chord", "(D − w)/2"),
    ("outside diameter", "convex"): ("from_end", "e + w/2", "e + w"),
    ("outside diameter", "concave"): ("from_end", "e + w/2", "e + w"),
}
ROWS = {row: names for rows in METHOD_ROWS.values() for row, names in rows.items() if names} | COMMON_ROWS
MINUTES = (
    "tooling_likely", "tooling_mean", "setup_likely", "setup_mean", "piece_likely", "piece_mean", "in_tolerance",
    "miss_minutes", "wear_minutes", "rounds_set", "batch_mean", "batch_p80",
)  # fmt: skip


def _rpm(prefix):
    return "form_tool_set_rpm" if prefix == "form_tool" else "finish_rpm"


def row_names(row, method):
    """The names behind a row of the setup screen; empty where it is no number of the rule base."""
    if row.startswith(rows.LINE):
        return ()
    names = METHOD_ROWS[method.name].get(row, COMMON_ROWS.get(row, ()))
    return names(method) if callable(names) else names


def setup_numbers(method, advice):
    """Every number that the setup screen shows for a method: list of (row label, list of Derivation)."""
    result = []
    for row in rows.setup_rows(method, advice):
        if row.value == wording.NO_POSITION:
            continue
        if row.label.startswith(rows.LINE):
            result.append((row.label, [_line(row.label, method, advice)]))
        elif row.label == "Cusps left":
            result.append((row.label, [_cusp(method, advice)]))
        else:
            result.append(
                (
                    row.label,
                    [
                        derive.derivation(name, advice)
                        for name in row_names(row.label, method)
                        if derive.tells(name, advice)
                    ],
                )
            )
    result += table_numbers(method, advice) + proof_numbers(method, advice)
    minutes = [derive.derivation(f"{method.prefix}_{name}", advice) for name in MINUTES]
    return [*result, ("Minutes", minutes)]


def _line(row, method, advice):
    """A layout line: how the name that it shows came about, or its distance as an equation of such names."""
    v = advice.values
    lines = method.setup["layout"]
    place = next(place for place, line in enumerate(lines) if f"{rows.LINE}{line['line']}" == row)
    shown = LINES[v["location"], v["form"]][place]
    if advice.callout.position_open:
        shown = shown.removeprefix("e + ")
    if shown in advice.rules.names:
        return derive.derivation(shown, advice)._replace(label=row)
    symbols = {"w": v["chord"], "D": v["diameter"], "e": v["from_end"]}
    tree = equations.parse(shown, set(symbols))
    return _line_of("z", shown, tree, symbols, lines[place]["distance_mm"], row, advice)


def _line_of(left, text, tree, symbols, number, row, advice):
    answer = derive.answer_text(number, derive.Unnamed("mm"), advice)
    line = derive.chain_of(left, text, equations.written(tree, symbols), number, answer)
    return derive.Derivation(
        "", row, wording.length(number, advice.callout.units), "formula", [line], "first principles", []
    )


def _cusp(method, advice):
    """The cusps that the step-off of the screen leaves, whose step is the swing in as many parts."""
    v, setup = advice.values, method.setup
    step = freehand.swing(sweep=v["sweep"], end=v["end"]) / (len(setup["step_off"]) - 1)
    nose = {"radius": v["radius"], "nose_radius": setup["nose_radius_mm"], "convex": v["convex"]}
    return _of(freehand.cusp, "cusps left", setup["cusp_mm"], advice, step=step, **nose)


def table_numbers(method, advice):
    """One row of the table on a screen, worked out as an example: list of (title, list of Derivation)."""
    v = advice.values
    if method.name == "form tool" and method.setup["profile"]:
        profile = method.setup["profile"]
        point = profile[len(profile) // 4]
        return [
            (
                f"Edge to grind: the point {wording.length(point['z_mm'], advice.callout.units)} along",
                _edge_point(point, v, advice),
            )
        ]
    if method.name == "freehand" and v["freehand_way"] == "stepped off" and method.setup["step_off"]:
        steps = method.setup["step_off"]
        number = max(1, len(steps) // 3)
        return [(f"Step-off: line {number + 1}", _step(steps, number, method, v, advice))]
    return []


def _edge_point(point, v, advice):
    along = point["z_mm"]
    convex, corner, end = v["convex"], v["corner"], v["end"]
    shape = {"convex": convex, "corner": corner, "end": end}
    work = _of(
        form_tool.work_depth,
        "in the work",
        point["work_depth_mm"],
        advice,
        radius=v["radius"],
        depth=v["depth"],
        z=along,
        **shape,
    )
    if end:
        return [work]
    r1 = form_tool.smallest_radius(depth=v["depth"], half_diameter=v["half_diameter"], **shape)
    face = _of(
        form_tool.face_depth,
        "on the face",
        point["face_depth_mm"],
        advice,
        r1=r1,
        r2=r1 + point["work_depth_mm"],
        rake=v["edge_rake"],
    )
    angles = {"relief": v["form_relief"], "rake": v["edge_rake"]}
    flank = _of(
        form_tool.flank_depth, "square to flank", point["flank_depth_mm"], advice, face=point["face_depth_mm"], **angles
    )
    return [work, face, flank]


def _of(function, name, number, advice, **arguments):
    """The derivation of a number that only a screen has, by the equations of the function that gave it."""
    lines = derive.worked(function, arguments, number, derive.Unnamed("mm"), advice)
    about = equations.described(function)
    return derive.Derivation(
        "",
        name,
        wording.length(number, advice.callout.units),
        "formula",
        lines or [f"{about.summary}."],
        about.source,
        [],
    )


_STEP = {
    ("corner", "convex"): ("Q (1 − sin φ)", "Q (1 − cos φ)"),
    ("corner", "concave"): ("Q (1 − sin φ)", "Q (1 − cos φ)"),
    ("end", "convex"): ("D/2 + n − Q sin φ", "Q (1 − cos φ)"),
    ("end", "concave"): ("D/2 + n − Q sin φ", "s − Q (1 − cos φ)"),
    ("outside diameter", "concave"): ("s − Q (1 − cos φ)", "h + Q sin φ"),
    ("outside diameter", "convex"): ("Q (1 − cos φ)", "h + Q sin φ"),
}


def _step(steps, number, method, v, advice):
    nose = method.setup["nose_radius_mm"]
    path = freehand.nose_path(radius=v["radius"], nose_radius=nose, convex=v["convex"])
    rim = 90.0 if v["corner"] else v["sweep"] / 2
    first = 0.0 if v["corner"] or v["end"] else -rim
    symbols = {
        "Q": path,
        "D": v["diameter"],
        "n": nose,
        "s": v["depth"],
        "h": v["half_of_steps"],
        "φ": first + (rim - first) * number / (len(steps) - 1),
    }
    found = [
        _of(
            freehand.nose_path,
            "path of the nose",
            path,
            advice,
            radius=v["radius"],
            nose_radius=nose,
            convex=v["convex"],
        )
    ]
    ways = (("X", "x_in_mm", "across"), ("Z", "z_in_mm", "along"))
    for (left, key, way), text in zip(ways, _STEP[v["location"], v["form"]], strict=True):
        parsed = equations.parse(text, set(symbols))
        found.append(_line_of(left, text, parsed, symbols, steps[number][key], way, advice))
    return found


def proof_numbers(method, advice):
    """What each way of proving the radius reads and sees, worked out: list of (what with, list of Derivation)."""
    result = []
    for check in method.checks:
        if check["sees_mm"] is None:
            continue
        way, found = check["way"], []
        if check["reading_mm"] is not None:
            found.append(derive.derivation(gauging.READINGS[way], advice)._replace(label="reads"))
        found.append(derive.derivation(gauging.WAYS[way][0], advice)._replace(label="sees"))
        words = wording.how(way, advice.values)
        result.append((words[:1].upper() + words[1:], found))
    return result


# What screens call a number of every method otherwise than the rule base does after the method's name.
SAID = {
    "4 in 5": "batch p80", "four batches in five under": "batch p80", "misses": "miss minutes", "wear": "wear minutes",
    "each piece": "piece", "a piece": "piece", "would hold about": "holds",
}  # fmt: skip


def _by_label(table):
    """The names of rows by label, in small letters; of a row of several numbers also by each part of its label."""
    found = {}
    for label, names in table.items():
        parts = label.lower().split(", ")
        several = () if callable(names) or len(parts) < 2 else zip(parts, names, strict=False)
        found |= {part: (name,) for part, name in several if part not in found}
    return found | {label.lower(): names for label, names in table.items()}


def find(text, advice):
    """The name that a user means: a name of the rule base, with spaces or underscores, or a label of the setup
    screen."""
    spoken = " ".join(str(text).replace("_", " ").split()).lower()
    method = advice.best or advice.ranked[0]
    spoken = SAID.get(spoken, spoken)
    for name in (f"{method.prefix}_{spoken.replace(' ', '_')}{ending}" for ending in ("_mean", "")):
        if name in advice.rules.names:
            return name
    # What the screen shows goes before a name of the rule base that is the same word, and that before other methods' rows.
    own = _by_label(METHOD_ROWS[method.name] | COMMON_ROWS)
    any_row = _by_label(ROWS)
    by_name = {word: (name,) for name in advice.rules.names for word in (derive.label(name), name.replace("_", " "))}
    for known in (own, by_name, any_row):
        names = known.get(spoken)
        if names:
            return (names(method) if callable(names) else names)[0]
    known = [*map(derive.label, advice.rules.names), *map(str.lower, ROWS)]
    fix = did_you_mean(spoken, known) + "Give a label of the setup, or a name as it stands in rules/vocabulary.toml."
    raise CalloutError("derive", str(text), "is no number of this advice", fix)
