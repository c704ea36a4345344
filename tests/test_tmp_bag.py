import pytest
from tests.fuzz import odd
from hypothesis import given, settings, HealthCheck
@pytest.mark.django_db
def test_it(owner_client):
    bad=[]
    for v in [*odd.NUMBERS,*odd.WORDS]:
        for q in [{"q":v},{"page":v}, {"q":v,"page":v}]:
            try:
                from tests.fuzz.wire import encoded
                owner_client.get("/bag/", QUERY_STRING=encoded(list(q.items())))
            except Exception as e: bad.append((q,type(e),str(e)[:200]))
    @settings(max_examples=300, suppress_health_check=list(HealthCheck), deadline=None)
    @given(odd.VALUES)
    def h(v):
        for n in "q","page":
            try: owner_client.get("/bag/", QUERY_STRING=encoded([(n,v)]))
            except Exception as e: bad.append((n,repr(v)[:60],type(e),str(e)[:200]))
    h()
    assert not bad, bad[:10]
