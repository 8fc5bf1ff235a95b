"""``diag simulate`` on the tiny base: fields, same bytes, a cluster that does not answer."""

POLICIES = {"ours", "gain_only", "gain_per_cost", "cheapest_first", "likeliest_first", "fixed_order", "random"}
FIELDS = {"mean_cost", "difference", "interval", "wrong_repairs", "tests_done"}


def test_every_policy_has_its_fields_and_the_same_seed_the_same_bytes(run):
    ran = run("simulate", "--vehicles", "6", "--seed", "2", "--jobs", "1", "--json")
    assert set(ran.json) >= POLICIES
    assert all(set(ran.json[name]) >= FIELDS for name in POLICIES)
    assert ran.json["ours"]["difference"] == 0
    assert run("simulate", "--vehicles", "6", "--seed", "2", "--jobs", "4", "--json").out == ran.out
    assert run("simulate", "--vehicles", "6", "--seed", "3", "--jobs", "1", "--json").out != ran.out


def test_the_screen_says_what_was_counted(run):
    out = " ".join(run("simulate", "--vehicles", "4", "--jobs", "1", "--shaken", "2").out.split())
    assert "4 simulated vehicles, drawn from 2 shaken networks (seed 1)" in out
    assert "this tool (ours)" in out and "a fixed order (fixed_order)" in out


def test_a_cluster_that_does_not_answer_is_told(run):
    ran = run("simulate", "--vehicles", "2", "--dask", "tcp://127.0.0.1:9", "--json")
    assert ran.code == 1 and ran.json["problems"][0]["code"] == "no-cluster"
    assert run("simulate", "--vehicles", "0").code == 2
