"""Grey mould against published equations and germination times."""

from tests.published.physics import row
from wintering.science.mould import broome_equation, broome_part, required_wet_h

D = {n: row(f"D{n:02}") for n in (1, 2, 3, 4, 5, 8, 9, 10)}


def test_the_equation_for_grape_berries():
    D[1].check(broome_part(5, 15))
    D[2].check(broome_equation(3, 20))
    D[3].check(broome_part(48, 20))
    D[4].check(broome_equation(0, 20))


def test_no_risk_is_told_for_a_dry_or_short_spell():
    # the equation itself leaves 0.066 for no wetness at all
    assert broome_part([0, 3], [20, 20]).tolist() == [0, 0]


def test_the_equation_is_not_used_near_freezing():
    D[5].check(broome_equation(24, 5))
    assert str(broome_part(24, 5)) == "nan"


def test_the_rule_for_the_cold_meets_published_germination():
    D[8].check(required_wet_h(6.0))
    # at 0 °C itself nothing is counted, as close above as one likes it is
    D[9].check(required_wet_h(1e-9))
    D[10].check(required_wet_h(3.0))
