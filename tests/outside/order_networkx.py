"""Judges orders with networkx, from the assembly's plain facts. Run by tests/outside/order.cpp with a file of cases."""

import json
import sys

import networkx as nx


def precedence(case):
    """An edge a -> b: a comes off before b. Only what the facts say outright: stated `after`, pins before what they lock,
    and, where every part is bolted straight to the body, a part's bolts before the part."""
    graph = nx.DiGraph()
    graph.add_nodes_from(item["name"] for item in case["items"] if item["name"] != "body")
    for item in case["items"]:
        graph.add_edges_from((earlier, item["name"]) for earlier in item["after"])
    for fastener in case["fasteners"]:
        graph.add_edges_from((fastener["name"], locked) for locked in fastener["secures"])
        if not case["nested"]:
            graph.add_edges_from((fastener["name"], part) for part in fastener["holds"] if part != "body")
    return graph


def judge_flat(case, graph):
    is_dag = nx.is_directed_acyclic_graph(graph)
    assert case["locked"] == (not is_dag), "locked: ours %s, networkx %s" % (case["locked"], not is_dag)
    place = {name: i for i, name in enumerate(case["order"])}
    assert len(place) == len(case["order"]), "something comes off twice"
    if is_dag:
        assert set(place) == set(graph.nodes), "left over: %s" % (set(graph.nodes) - set(place))
    for a, b in graph.edges:
        if b in place:
            assert a in place and place[a] < place[b], "%s comes before %s" % (b, a)
    # What is not in a cycle, nor behind one, comes off all the same.
    in_cycles = {n for scc in nx.strongly_connected_components(graph) if len(scc) > 1 for n in scc}
    in_cycles |= {n for n in graph if graph.has_edge(n, n)}
    behind = set(in_cycles).union(*(nx.descendants(graph, n) for n in in_cycles)) if in_cycles else set()
    assert set(place) == set(graph.nodes) - behind, "ours %s" % sorted(set(graph.nodes) - behind - set(place))

    needed = nx.ancestors(graph, case["goal"]) | {case["goal"]}
    goal_is_free = nx.is_directed_acyclic_graph(graph.subgraph(needed))
    assert case["goal_locked"] == (not goal_is_free)
    if goal_is_free:
        assert set(case["goal_order"]) == needed, "only what must come off for %s: ours %s, networkx %s" % (
            case["goal"], sorted(case["goal_order"]), sorted(needed))
    return is_dag


def judge_mixed(case, stated):
    """Stated and estimated together. Where what is stated has an order: what was kept goes with it, no dropped pair does,
    and the order honours both. Returns how many pairs were kept and dropped."""
    if not nx.is_directed_acyclic_graph(stated):
        return 0, 0
    mixed = case["mixed"]
    dropped = [tuple(pair) for pair in mixed["dropped"]]
    kept = [tuple(pair) for pair in mixed["pairs"] if tuple(pair) not in dropped]
    graph = stated.copy()
    graph.add_edges_from(kept)
    assert nx.is_directed_acyclic_graph(graph), "kept estimates that lock: %s" % nx.find_cycle(graph)
    for first, then in dropped:
        assert nx.has_path(graph, then, first), "dropped without need: %s before %s" % (first, then)
    place = {name: i for i, name in enumerate(mixed["order"])}
    assert set(place) == set(graph.nodes), "left over: %s" % (set(graph.nodes) - set(place))
    for first, then in graph.edges:
        assert place[first] < place[then], "%s comes before %s" % (then, first)
    return len(kept), len(dropped)


def judge_nested(case, graph):
    """Replays the order: whatever comes off must, at that moment, be joined to nothing that leads to the body."""
    place = {name: i for i, name in enumerate(case["order"])}
    away = dict(place)  # a part that leaves along with another is away by then, also if it is taken off that later
    parts = {item["name"] for item in case["items"]} - {f["name"] for f in case["fasteners"]}
    holds = {f["name"]: f["holds"] for f in case["fasteners"]}
    present, fitted = set(parts), set(holds)
    removed_parts = 0
    for name in case["order"]:
        if name in holds:
            fitted.discard(name)
            continue
        joined = nx.Graph()
        joined.add_nodes_from(present)
        for fastener in fitted:
            here = [p for p in holds[fastener] if p in present]
            joined.add_edges_from(zip(here, here[1:]))
        if name not in present:
            continue  # left earlier along with another
        leaving = nx.node_connected_component(joined, name)
        assert "body" not in leaving, "%s comes off while %s still joins it" % (name, sorted(leaving))
        present -= leaving
        removed_parts += len(leaving)
        away.update((part, place[name]) for part in leaving)
        away.update((f, place[name]) for f in fitted if f in place and set(holds[f]) <= leaving)
    for a, b in graph.edges:
        if b in place and a in away:
            assert away[a] < place[b] or b == case["order"][away[a]], "%s comes before %s" % (b, a)
    if not case["locked"]:
        assert present == {"body"}, "left on: %s" % sorted(present - {"body"})
    return removed_parts


def main():
    cases = json.load(open(sys.argv[1], encoding="utf-8"))
    good = locked = nested = removed = kept = dropped = 0
    for number, case in enumerate(cases):
        graph = precedence(case)
        try:
            if case["nested"]:
                nested += 1
                removed += judge_nested(case, graph)
            else:
                if judge_flat(case, graph):
                    good += 1
                else:
                    locked += 1
                more = judge_mixed(case, graph)
                kept, dropped = kept + more[0], dropped + more[1]
        except AssertionError as error:
            print("case %d: %s" % (number, error))
            sys.exit(1)
    # A generator that makes only one sort of case would make this test blind.
    assert good > 100 and locked > 50 and nested > 100 and removed > 500, (good, locked, nested, removed)
    assert kept > 200 and dropped > 100, (kept, dropped)
    print("networkx %s: %d assemblies: %d with an order, %d without, %d nested (%d parts replayed); estimates: %d kept, "
          "%d dropped" % (nx.__version__, len(cases), good, locked, nested, removed, kept, dropped))


main()
