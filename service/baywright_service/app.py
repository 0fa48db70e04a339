"""The application factory."""

from flask import Flask

from . import registry as registries
from .batches.database import beside
from .batches.manager import Batches
from .computed import Computed
from .documents import Documents
from .execution import executor_for
from .host import Host
from .registry import Registry
from .routes import BLUEPRINTS, cors, failures, gate
from .settings import Settings


def create_app(settings: Settings | None = None, registry: Registry | None = None) -> Flask:
    """One service: its settings, the calculators it offers, its store of documents.

    Without a registry it offers what the installed distributions bring.
    """
    settings = settings or Settings()
    app = Flask(__name__, static_folder=None)
    app.url_map.merge_slashes = False
    registry = registries.installed() if registry is None else registry
    modules = sorted({type(each).__module__ for each in registry.calculators.values()})
    executor = executor_for(settings, warm=modules)
    documents = Documents(settings.store)
    app.extensions["baywright"] = Host(
        settings=settings,
        registry=registry,
        documents=documents,
        executor=executor,
        batches=Batches(settings, registry, documents, executor),
        computed=Computed(beside(settings.store, "computed"), settings.remembered_mib),
    )
    failures.register(app)
    gate.register(app)
    cors.register(app)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    return app
