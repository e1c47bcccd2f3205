"""Opening an amendment: a new inspection whose draft puts a signed record right."""

from uuid import uuid4

from models.signing import amendment
from models.store.store import AMENDMENT, Store
from models.store.types import InspectionRow


def open_amendment(store: Store, inspection: str) -> str:
    """A new open inspection that amends a signed one, which stays as it is.

    Args:
        store: where both are kept.
        inspection: id of the signed one.

    Returns:
        The id of the new one.

    Raises:
        LookupError: there is no signed inspection of that id.
    """
    signed = store.signed(inspection)
    if signed is None:
        raise LookupError(f"There is no signed inspection {inspection}.")
    draft = amendment(signed, str(uuid4()))
    head = draft.inspection
    store.add_inspection(
        InspectionRow(
            id=head.id,
            unit=None,  # so that no new file is put here by its unit or time: see Store.assign
            folder=f"{AMENDMENT}{inspection}",
            started_at=head.started_at,
            ended_at=head.ended_at,
            state="open",
            version=0,
        )
    )
    store.put_draft(head.id, draft)
    return head.id
