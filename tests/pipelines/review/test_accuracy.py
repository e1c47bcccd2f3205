"""The shop's accuracy page counts what was signed against what was drafted, and names nobody."""

from fastapi.testclient import TestClient

from models.record import Review
from models.signing import sign
from tests.pipelines.review.sample import AT, ID, Bench


def test_what_was_signed_is_counted_against_what_was_drafted(client: TestClient, bench: Bench) -> None:
    assert "Nothing to compare" in client.get("/accuracy").text
    assert '<a href="/accuracy">' in client.get("/").text
    draft = bench.store.draft(ID)
    assert draft is not None
    decided = [
        f.model_copy(update={"review": Review(state="confirmed", by="Ana Cole", at=AT)})
        for f in draft.findings
    ]
    wrong = decided[1].model_copy(update={"conditions": ("worn",)})  # came without a doubt
    added = decided[0].model_copy(update={"id": "new", "review": Review(state="added", by="Ana Cole", at=AT)})
    findings = (decided[0], wrong, *decided[2:5], added)
    bench.store.sign(ID, sign(draft.model_copy(update={"findings": findings}), "Ana Cole", AT), 0)
    text = client.get("/accuracy").text
    assert "Of 1 signed record <b>67 %</b> of 6 drafted findings" in text  # the sixth was left out
    assert "<b>1</b> of the wrong ones came without a doubt, and 1 finding was added by hand." in text
    row = '<tr><th scope="row">brake pad</th><td data-name="Drafted">2</td><td data-name="Right">50 %</td>'
    assert row in text
    main = text[text.index("<main") :]
    assert "Ana" not in main
