"""The base of every type that passes between stages."""

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A record that cannot be changed after it was made and refuses unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")
