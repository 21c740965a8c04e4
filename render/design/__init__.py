"""Templates: an SVG drawing with placeholders in, marks and requests for lettering out."""

from render.design.loading import load_template
from render.design.shelf import find_template, list_templates
from render.design.template import Apostrophe, Drawing, Slot, Template

__all__ = ["Apostrophe", "Drawing", "Slot", "Template", "find_template", "list_templates", "load_template"]
