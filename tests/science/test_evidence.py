from wintering.science.evidence import Evidence
from wintering.trees.queries import PRECEDENCE


def test_evidence_ranks_as_it_does_among_the_facts_of_a_taxon():
    assert [str(kind) for kind in Evidence] == [str(kind) for kind in PRECEDENCE]
