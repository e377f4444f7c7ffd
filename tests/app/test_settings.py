import pytest
from PySide6.QtCore import QSettings

from app.settings import Settings, output_pa_per_full_scale


@pytest.fixture
def store(tmp_path):
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


def reread(store, tmp_path):
    store.sync()
    return Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


def test_that_what_was_set_is_there_with_its_type_after_a_restart(store, tmp_path):
    settings = Settings(store)
    settings.theme_mode = "dark"
    settings.device_name = "USB headphones"
    settings.set_full_scale_sine_db("ALSA: USB headphones", 117.0)
    settings.last_study = "somewhere"
    again = reread(store, tmp_path)
    assert again.theme_mode == "dark"
    assert again.device_name == "USB headphones"
    assert again.full_scale_sine_db("ALSA: USB headphones") == 117.0
    assert again.last_study == "somewhere"


def test_that_nothing_set_means_system_colours_default_device_and_no_calibration(store):
    settings = Settings(store)
    assert settings.theme_mode == "system"
    assert settings.device_name is None
    assert settings.full_scale_sine_db("ALSA: USB headphones") is None


def test_that_what_was_taken_back_is_gone_after_a_restart(store, tmp_path):
    settings = Settings(store)
    settings.set_full_scale_sine_db("ALSA: a", 117.0)
    settings.set_full_scale_sine_db("ALSA: a", None)
    settings.device_name = None
    assert reread(store, tmp_path).full_scale_sine_db("ALSA: a") is None
    assert reread(store, tmp_path).device_name is None


@pytest.mark.parametrize("damaged", ["loud", "nan", "inf", ""])
def test_that_a_damaged_calibration_is_none(store, damaged):
    store.setValue("full_scale_sine_db_of/ALSA: a", damaged)
    store.setValue("theme", "purple")
    assert Settings(store).full_scale_sine_db("ALSA: a") is None
    assert Settings(store).theme_mode == "system"


def test_that_a_level_kept_for_the_default_device_counts_for_no_device(store):
    # As it was kept before: whichever device is the default today was not measured.
    store.setValue("full_scale_sine_db/default", "117.0")
    assert Settings(store).full_scale_sine_db("ALSA: default") is None


def test_that_a_full_scale_sine_of_94_db_is_the_square_root_of_two_pascal_peak():
    # 1 Pa rms is 93.979 dB re 20 uPa, and a sine of 1 Pa rms has a peak of 1.414 Pa.
    assert output_pa_per_full_scale(93.9794) == pytest.approx(2**0.5, rel=1e-5)
    assert output_pa_per_full_scale(104.0) == pytest.approx(4.482, abs=1e-3)


def test_that_a_level_counts_for_the_device_it_was_measured_on_only(store):
    settings = Settings(store)
    settings.set_full_scale_sine_db("ALSA: hw:1,0/left", 104.0)
    assert settings.full_scale_sine_db("ALSA: hw:1,0/left") == 104.0
    assert settings.full_scale_sine_db("ALSA: another") is None
    assert settings.full_scale_sine_db("OSS: hw:1,0/left") is None


def test_that_studies_opened_lately_are_kept_in_order_and_only_the_last_few(store, tmp_path):
    settings = Settings(store)
    for number in range(7):
        settings.remember_study(f"/studies/{number}, with a comma")
    settings.remember_study("/studies/4, with a comma")
    settings.forget_study("/studies/5, with a comma")
    kept = [int(path[9]) for path in reread(store, tmp_path).recent_studies]
    assert kept == [4, 6, 3, 2]


@pytest.mark.parametrize(
    "damaged",
    [
        b"last_study=@ByteArray(\\xff\\xfe)\nrecent_studies=@ByteArray(\\xff)",
        b"last_study=a, b\nrecent_studies=a, b",
        b"last_study=@Rect(1 2 3 4)\nrecent_studies={",
        b'last_study="a\\x0b"\nrecent_studies="[1, null, \\"a\\\\u0000\\"]"',
        b"\xff\xfe\0[General\nlast_study",
    ],
)
def test_that_a_damaged_settings_file_counts_as_nothing_set(tmp_path, damaged):
    path = tmp_path / "settings.ini"
    path.write_bytes(b"[General]\ntheme=@ByteArray(\\xff)\ndevice=@ByteArray(\\xff)\n" + damaged)
    settings = Settings(QSettings(str(path), QSettings.Format.IniFormat))
    assert (settings.theme_mode, settings.device_name) == ("system", None)
    assert settings.recent_studies == ()
    assert "\0" not in settings.last_study
