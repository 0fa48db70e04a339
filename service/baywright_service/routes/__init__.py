"""One thin blueprint a resource: each route parses, calls, represents."""

from . import calculators, documents, meta, plans, problems, stored_answers

BLUEPRINTS = (
    meta.routes,
    calculators.routes,
    plans.routes,
    documents.routes,
    stored_answers.routes,
    problems.routes,
)
