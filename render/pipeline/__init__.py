"""The only room that knows the order of the stages; it runs them over an order, on one or many workers."""

from render.pipeline.run import Outcome, run
from render.pipeline.workshop import Job, Workshop

__all__ = ["Job", "Outcome", "Workshop", "run"]
