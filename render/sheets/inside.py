"""Which contours lie inside which: lives in :mod:`render.geometry.inside`."""

from render.geometry.inside import depths, flattened, winding

__all__ = ["depths", "flattened", "winding"]
