"""Settings as shipped, a shop's own over them, and what is said when a file is wrong."""

from pathlib import Path

import pytest

from models.settings import Settings, SettingsError, load_settings


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DROPLIGHT_HOME", raising=False)
    monkeypatch.delenv("DATABASE_URL", raising=False)


def own(home: Path, text: str) -> Settings:
    (home / "settings.yaml").write_text(text, encoding="utf-8")
    return load_settings(home)


def test_what_is_shipped_is_what_the_types_say(tmp_path: Path) -> None:
    assert load_settings(tmp_path) == Settings(home=tmp_path)


def test_the_review_page_answers_on_this_computer_only(tmp_path: Path) -> None:
    assert load_settings(tmp_path).review.host == "127.0.0.1"


def test_a_file_in_the_data_folder_changes_only_what_it_names(tmp_path: Path) -> None:
    settings = own(tmp_path, "shop: Quarry Fork\nwatch: {settle_s: 2}\ntruck: {brakes: air}\n")
    assert (settings.shop, settings.watch.settle_s, settings.truck.brakes) == ("Quarry Fork", 2, "air")
    assert (settings.watch.rescan_s, settings.review.port) == (30, 8417)


def test_an_empty_file_changes_nothing(tmp_path: Path) -> None:
    assert own(tmp_path, "# nothing yet\n") == Settings(home=tmp_path)


def test_the_data_folder_by_argument_beats_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DROPLIGHT_HOME", str(tmp_path / "environment"))
    assert load_settings().home == tmp_path / "environment"
    assert load_settings(tmp_path / "argument").home == tmp_path / "argument"


def test_the_data_folder_is_absolute(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert load_settings(Path("here")).home == tmp_path / "here"
    monkeypatch.setenv("HOME", str(tmp_path))
    assert load_settings(Path("~/there")).home == tmp_path / "there"


def test_the_database_lies_in_the_data_folder_unless_an_address_is_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert load_settings(tmp_path).store_url() == f"sqlite:///{tmp_path / 'droplight.db'}"
    monkeypatch.setenv("DATABASE_URL", "postgresql+psycopg://shop@localhost/droplight")
    assert load_settings(tmp_path).store_url() == "postgresql+psycopg://shop@localhost/droplight"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("watch: {settle: 5}\n", ["watch.settle"]),
        ("shpo: x\n", ["shpo"]),
        ("watch: {settle_s: soon}\n", ["watch.settle_s"]),
        ("watch: {settle_s: -1}\n", ["watch.settle_s"]),
        ("review: {port: 99999}\n", ["review.port"]),
        ("speech: {threads: 0}\n", ["speech.threads"]),
        ("truck: {brakes: wooden}\n", ["truck.brakes"]),
        ("watch: {mode: sometimes}\nshpo: x\n", ["watch.mode", "shpo"]),
        ("- a list\n", ["name: value"]),
        ("shop: [\n", ["YAML"]),
    ],
)
def test_a_wrong_file_is_named_with_every_line_that_is_wrong(
    tmp_path: Path, text: str, words: list[str]
) -> None:
    with pytest.raises(SettingsError) as raised:
        own(tmp_path, text)
    assert str(tmp_path / "settings.yaml") in str(raised.value)
    assert all(word in str(raised.value) for word in words)


def test_a_file_that_is_no_text_is_said(tmp_path: Path) -> None:
    (tmp_path / "settings.yaml").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(SettingsError, match=r"settings\.yaml cannot be read"):
        load_settings(tmp_path)


# Letters and check digit: 49 CFR 565.13(g) and 565.15(c), the sections from memory.
@pytest.mark.parametrize(
    ("vin", "why"),
    [
        ("1M8GDM9AXKP04278", "A vehicle identification number has 17 characters; '1M8GDM9AXKP04278' has 16."),
        ("1M8GDM9AXKPO42788", "'1M8GDM9AXKPO42788' holds O, which no vehicle identification number has."),
        ("1M8GDM9A1KP042788", "its ninth character, is 1 where the other characters ask for X."),
        ("12345678901234567", "its ninth character, is 9 where the other characters ask for"),
    ],
)
def test_a_wrong_vin_is_told_in_a_sentence_with_its_file_and_what_to_do(
    tmp_path: Path, vin: str, why: str
) -> None:
    with pytest.raises(SettingsError) as told:
        own(tmp_path, f'trucks:\n  - units: ["412"]\n    vin: {vin}\n')
    sentence = str(told.value)
    assert sentence.startswith(f"{tmp_path / 'settings.yaml'}: trucks.0.vin: ")
    assert why in sentence
    assert "Copy it from the truck's plate: 17 letters and digits, never I, O or Q" in sentence
    assert "pattern" not in sentence and "[" not in sentence and "Value error" not in sentence


def test_a_vin_may_be_written_in_small_letters_and_groups(tmp_path: Path) -> None:
    settings = own(tmp_path, 'trucks:\n  - units: ["412"]\n    vin: 1m8gdm9a-xkp0 42788\n')
    assert settings.truck_of("412").vin == "1M8GDM9AXKP042788"


def test_a_number_that_was_not_given_for_north_america_needs_no_check_digit(tmp_path: Path) -> None:
    settings = own(tmp_path, 'trucks:\n  - units: ["412"]\n    vin: WDB9634031L123456\n')
    assert settings.truck_of("412").vin == "WDB9634031L123456"
