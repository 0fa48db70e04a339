"""One thin blueprint a resource: each route parses, calls, represents."""

from . import (
    batch_results,
    batches,
    calculators,
    documents,
    meta,
    pages,
    plans,
    problems,
    reports,
    session,
    stored_answers,
)

BLUEPRINTS = (
    pages.routes,
    session.routes,
    meta.routes,
    calculators.routes,
    plans.routes,
    documents.routes,
    stored_answers.routes,
    reports.routes,
    batches.routes,
    batch_results.routes,
    problems.routes,
)
