"""What every table of the design file is made of: a strict part, a length in mm."""

from pydantic import BaseModel, ConfigDict, Field


def mm(low: float, high: float, text: str) -> object:
    """Range and description of a key in mm."""
    return Field(ge=low, le=high, description=f"{text} [mm]")


class StrictTable(BaseModel):
    """A table of the file: no unknown key, no silent conversion, no later change."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)
