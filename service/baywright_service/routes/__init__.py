"""One thin blueprint a resource: each route parses, calls, represents."""

from . import calculators, documents, meta, pages, plans, problems, session, stored_answers

BLUEPRINTS = (
    pages.routes,
    session.routes,
    meta.routes,
    calculators.routes,
    plans.routes,
    documents.routes,
    stored_answers.routes,
    problems.routes,
)
