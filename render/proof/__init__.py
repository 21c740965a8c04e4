"""Proofs: pictures of the pieces on their blanks, for the eyes of customer and maker."""

from render.proof.contact import MOST_ON_A_PAGE, contact_sheet
from render.proof.pieces import Flag, Letter, ProofPiece, Wording

__all__ = ["MOST_ON_A_PAGE", "Flag", "Letter", "ProofPiece", "Wording", "contact_sheet"]
