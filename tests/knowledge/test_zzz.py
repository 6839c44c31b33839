import json, traceback
from hypothesis import HealthCheck, given, settings, strategies as st
LAW = settings(max_examples=60, deadline=None, database=None, suppress_health_check=list(HealthCheck))
@LAW
@given(data=st.data())
def test_b(data, partly_stated_questions, ask, base):
    q = data.draw(partly_stated_questions)
    fh=open('/tmp/crit/log.txt','a')
    fh.write(f"{[x.value for x in data.conjecture_data.nodes]}\n")
    try:
        answer = ask(**q)
        findings = [f for c in answer.candidates for f in c.findings]
        assert all(finding.sources for finding in findings if finding.effect != "supports" or finding.figures)
    except BaseException as e:
        fh.write(f"   {type(e).__name__}\n"); raise
