"""Every way of writing gives the same readings, since the series is one and known."""

import io
from itertools import cycle

import pytest

from tests.ingest import dialects
from wintering.ingest.reading import NO_VALUE, Answers, read_log
from wintering.ingest.sniffing import HEAD_BYTES

ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252")
AIR = [NO_VALUE if value is None else value for value in dialects.AIR]


def read(text, encoding, zone=None):
    file = io.BytesIO(text.encode(encoding))
    return read_log(file, name="log.csv", answers=Answers.of(zone=zone))


@pytest.mark.parametrize("form", dialects.FORMS, ids=lambda form: form.name)
def test_a_way_of_writing_times_is_read(form):
    encodings = cycle(ENCODINGS)
    for way in dialects.every_way():
        if not dialects.fits(form, way):
            continue
        encoding = next(encodings)
        log = read(
            dialects.written(form, **way),
            encoding,
            zone=dialects.ZONE if form.is_naive else "-11:00",
        )
        told = f"{way} {encoding}"
        assert log.seconds.tolist() == dialects.SECONDS, told
        assert log.is_naive == form.is_naive, told
        assert not log.rejected, told
        air, root = log.columns
        assert air.values.tolist() == AIR, told
        assert root.values.tolist() == dialects.ROOT, told
        assert {air.unit, root.unit} == {way["unit"].unit}, told


@pytest.mark.parametrize("form", dialects.FORMS, ids=lambda form: form.name)
def test_a_way_of_writing_times_is_read_in_long_form_too(form):
    encodings = cycle(ENCODINGS)
    for way in dialects.every_way():
        if not dialects.fits(form, way):
            continue
        encoding = next(encodings)
        log = read(
            dialects.written(form, is_long=True, **way),
            encoding,
            zone=dialects.ZONE if form.is_naive else "-11:00",
        )
        told = f"{way} {encoding}"
        assert not log.rejected, told
        assert log.seconds[::2].tolist() == dialects.SECONDS, told
        air, root = log.columns
        assert (air.name, root.name) == ("air", "root"), told
        assert air.values[::2].tolist() == AIR, told
        assert root.values[1::2].tolist() == dialects.ROOT, told
        assert {air.unit, root.unit} == {way["unit"].unit}, told


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_encoding_is_read_with_degree_signs(encoding):
    unit = dialects.UnitForm("{} (°C)", cell="{} °C")
    log = read(dialects.written(dialects.FORMS[0], unit=unit), encoding, "+02:00")
    assert log.columns[0].name == "air (°C)"
    assert log.columns[0].values.tolist() == AIR


def test_an_old_code_page_further_down_is_read():
    lines = ["time,air_c,note"]
    lines += [f"2024-12-{d:02} {h:02}:{m:02},1.5,ok" for d in range(1, 32)
              for h in range(24) for m in range(0, 60, 5)]  # fmt: skip
    head = "\n".join(lines).encode()
    assert len(head) > HEAD_BYTES, "the odd letter has to lie beyond the first part"
    log = read_log(
        io.BytesIO(head + "\n2025-01-01 00:00,2.5,gelüftet\n".encode("cp1252")),
        name="log.csv",
        answers=Answers.of(zone="+02:00"),
    )
    assert log.columns[0].values[-1] == 2500
    assert not log.rejected
