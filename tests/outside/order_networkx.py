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


def judge_nested(case, graph):
    """Replays the order: whatever comes off must, at that moment, be joined to nothing that leads to the body."""
    place = {name: i for i, name in enumerate(case["order"])}
    for a, b in graph.edges:
        if b in place and a in place:
            assert place[a] < place[b], "%s comes before %s" % (b, a)
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
    if not case["locked"]:
        assert present == {"body"}, "left on: %s" % sorted(present - {"body"})
    return removed_parts


def main():
    cases = json.load(open(sys.argv[1], encoding="utf-8"))
    good = locked = nested = removed = 0
    for number, case in enumerate(cases):
        graph = precedence(case)
        try:
            if case["nested"]:
                nested += 1
                removed += judge_nested(case, graph)
            elif judge_flat(case, graph):
                good += 1
            else:
                locked += 1
        except AssertionError as error:
            print("case %d: %s" % (number, error))
            sys.exit(1)
    # A generator that makes only one sort of case would make this test blind.
    assert good > 100 and locked > 50 and nested > 100 and removed > 500, (good, locked, nested, removed)
    print("networkx %s: %d assemblies: %d with an order, %d without, %d nested (%d parts replayed)" % (
        nx.__version__, len(cases), good, locked, nested, removed))


main()
