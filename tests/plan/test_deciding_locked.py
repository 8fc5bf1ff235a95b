"""What would decide a theory is never a test that must not be done as things stand."""

from oracle.sessions import session

from diag.explain.stated import Theory


def test_locked_tests_decide_nothing() -> None:
    told = session("oil_milky=yes", "overheats_at_load=yes", "glycol_in_oil=yes")
    locked = {test.id for test in told.ranking.locked}
    assert locked, "coolant in the oil locks every test with the engine running"
    judged = told.trial(Theory("gasket_failed_oil", (), ()))
    offered = {deciding.act.id for deciding in told.deciding(judged).tests}
    assert offered
    assert not offered & locked
    access = {step for id in offered for step in told.knowledge.tests[id].access}
    assert "running" not in access
