#!/usr/bin/python3
"""Writes matching.json: random performances and how many of their notes match.

The count is the maximum matching of the graph in which an expected and a played
note are joined where the pitch is the same and the onsets lie within the window,
both ends included: the definition of note onset matching in mir_eval (Raffel et
al. 2014). It is computed by networkx 2.8.8 (BSD), Debian's python3-networkx, with
its Hopcroft-Karp. Run it here to make the file anew:  python3 matching.py
"""
import json
import random

import networkx
from networkx.algorithms import bipartite

random.seed(20)
cases = []
for _ in range(250):
    beat = random.choice([250, 375, 500])
    window = random.choice([50, 120, 200])
    low, high = 40, 40 + random.choice([0, 1, 4])
    expected = []
    for k in range(random.randint(4, 20)):
        expected.append([k * beat, random.randint(low, high)])
        if random.random() < 0.3:
            expected.append([k * beat + beat * 2 // 3, random.randint(low, high)])
    played = []
    for at, midi in expected:
        if random.random() < 0.85:
            played.append([at + round(random.gauss(0, window * 0.7)), midi + (random.random() < 0.1)])
        if random.random() < 0.2:
            played.append([at + random.randint(-beat, beat), random.randint(low, high)])
    graph = networkx.Graph()
    left = [("expected", i) for i in range(len(expected))]
    graph.add_nodes_from(left)
    for i, (at, midi) in enumerate(expected):
        for j, (when, what) in enumerate(played):
            if midi == what and abs(at - when) <= window:
                graph.add_edge(("expected", i), ("played", j))
    matched = len(bipartite.hopcroft_karp_matching(graph, left)) // 2
    cases.append({"beat": beat, "window": window, "expected": expected, "played": played, "matched": matched})
with open("matching.json", "w") as out:
    out.write("[\n" + ",\n".join(json.dumps(c, separators=(",", ":")) for c in cases) + "\n]\n")
