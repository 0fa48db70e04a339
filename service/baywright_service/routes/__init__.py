"""One thin blueprint a resource: each route parses, calls, represents."""

from . import calculators, documents, meta, plans, problems

BLUEPRINTS = (meta.routes, calculators.routes, plans.routes, documents.routes, problems.routes)
