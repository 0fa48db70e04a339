"""What the answer takes for granted, and where its numbers come from."""

from baywright_service.contract import Source

from ..cautions import PLANNING_AID

ASSUMPTIONS = (
    "Sections are stiff bodies. Give of the frame, of its feet and of castors takes some degrees "
    "off every tip angle; blows and running starts are left out.",
    "The machine is one body over the outline of all its feet: coupling rods must bear that, which "
    "truss-check shows. Loose things lie at its centre of mass and do not roll.",
    "A frame's mass is rods, hubs and stated fittings; coupling rods count half to either side.",
    "Grips, if not stated, are at seven twelfths of the height upright, and two bays in from the "
    "ends lying. On stairs the longest side lies along the flight, on its back if it is the "
    "height; both ways round are tried and the easier one is told.",
    "What one person lifts goes by the zone of the hands (heights of a grown body: mid lower leg "
    "250, knuckle 750, elbow 1050, shoulder 1400 mm, from memory). On stairs the lower carriers "
    "push above the elbow, the upper ones bend below the knuckle.",
    "A team of two bears two thirds, of three half of the sum; no share is published for four, so "
    "none is counted. On stairs that share is asked of each end too, since a load cannot be evened "
    "out there (common practice, no source).",
    "A long side takes two people however light the section (common practice, no source); the "
    "guidance calls loads beyond about 750 mm awkward.",
    "The lifting equation is for one person with both hands, not for teams and not for carrying: "
    "each one's share is held against it.",
    "The trolley's own mass, low down, is left out, on the safe side; wheels stand at the corners "
    "of the base. A step is met by both leading wheels at once.",
    "Ties and rails are held against the leaning moment less what the weight holds; wall and "
    "fixing are not checked.",
    "While it is set up, a section is held by people until it is coupled.",
)

SOURCES = (
    Source(
        "NIOSH Publication 94-110 (revised 9/2021), Applications Manual for the Revised NIOSH "
        "Lifting Equation",
        "section 1, Tables 1 to 7",
    ),
    Source(
        "HSE, guidance on the Manual Handling Operations Regulations (L23)",
        "team handling, size, rests after about 10 m",
    ),
    Source("HSE INDG143, Manual handling at work: a brief guide", "Figure 1 (from memory)"),
    Source(
        "IEC 62368-1:2018",
        "stability: 10 degrees; 13 % of weight, 250 N at most, up to 1.5 m; half the weight, "
        "100 N at most, downwards",
    ),
    Source("IEC 60601-1", "instability tests: 10 degrees in transport"),
    Source("IEC 61010-1", "7.4 d) and e), castors"),
    Source("EN 1990:2002, Table A1.2(A) (from memory)", "0.9 on what holds, 1.5 on what tips"),
    Source("EN 12195-1", "0.6 sideways for what may tip, 0.8 forwards"),
    Source("Statics: moments about the edge of the feet, of a step, about a grip"),
    Source("Castor trade rule (from memory)", "each of four castors bears a third"),
    Source(
        "Common practice, no source",
        "a metre wide is two people; 300 N at 1.2 m for a leaning person",
    ),
)

CAUTIONS = (
    "Tipping: hold every section until it is coupled; nobody stands where it would fall.",
    "Let people decline a lift; stop when a grip, a hub or the footing gives.",
    "A frame that is leaned on may come apart before it tips: keep people off it by a rail of its "
    "own.",
    "Ballast and ties must not be taken off while the public is there; lock castors.",
    "Clear balls off the floor before carrying: they make people fall.",
    PLANNING_AID,
)
