"""What is asked for: a story of one plan or several."""

from ..contract import Anything, InputSchema, ListOf, Text
from ..representations import HTML, PDF

#: A report is a page or paper.
FORMS = (HTML, PDF)


class ToldPlanSchema(InputSchema):
    """One plan of a story."""

    name = Text(longest=40, load_default="", title="Short name for tables, such as “planned”")
    plan = Anything(objects=True, required=True, title="The plan, or {“id”: …} of a stored one")


class StorySchema(InputSchema):
    """Plans for one report, in the order of the story."""

    title = Text(longest=200, title="Title of the report; that of the first plan unless given")
    about = Text(title="What the story is about")
    plans = ListOf(ToldPlanSchema, required=True, fewest=1, most=6, title="Plans")
