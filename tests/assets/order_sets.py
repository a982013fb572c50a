"""Makes order_sets.json: what other programs find for twenty sets of tunings.

Needs ortools and networkx. OR-Tools (CP-SAT, circuit constraint) gives the best path through all groups, or a bound;
networkx (greedy tour, then simulated annealing and threshold accepting) a second, weaker answer. A path is a tour
through one more node that costs nothing.
"""

import json
import random
from importlib.metadata import version

import networkx as nx
from ortools.sat.python import cp_model

SECONDS = 20


def tunings(rng, count):
    rows = [[rng.randrange(6) for _ in range(6)] for _ in range(count)]
    step = lambda d: 0 if d == 0 else 30 + (14 * d if d > 0 else -10 * d)
    return [[sum(step(b - a) for a, b in zip(one, other)) for other in rows] for one in rows]


def plain(rng, count):
    costs = [[0] * count for _ in range(count)]
    for i in range(count):
        for j in range(i):
            costs[i][j] = costs[j][i] = rng.randrange(50, 1000)
    return costs


def one_way(rng, count):
    return [[0 if i == j else rng.randrange(50, 1000) for j in range(count)] for i in range(count)]


def with_end(costs):
    count = len(costs)
    return [row + [0] for row in costs] + [[0] * (count + 1)]


def by_ortools(costs):
    tour = with_end(costs)
    size = len(tour)
    model = cp_model.CpModel()
    arcs, terms = [], []
    for i in range(size):
        for j in range(size):
            if i != j:
                taken = model.new_bool_var("")
                arcs.append((i, j, taken))
                terms.append(tour[i][j] * taken)
    model.add_circuit(arcs)
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SECONDS
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    solver.solve(model)
    return round(solver.objective_value), round(solver.best_objective_bound)


def by_networkx(costs):
    tour = with_end(costs)
    size = len(tour)
    graph = nx.DiGraph()
    graph.add_weighted_edges_from((i, j, tour[i][j]) for i in range(size) for j in range(size) if i != j)
    length = lambda cycle: sum(graph[a][b]["weight"] for a, b in zip(cycle, cycle[1:]))
    greedy = nx.approximation.greedy_tsp(graph, source=size - 1)
    found = [greedy]
    for method in (nx.approximation.simulated_annealing_tsp, nx.approximation.threshold_accepting_tsp):
        found.append(method(graph, greedy, source=size - 1, seed=1, N_inner=500))
    return min(length(cycle) for cycle in found)


def main():
    rng = random.Random(8)
    sets = []
    for number in range(20):
        count = 16 + 2 * number
        kind = (tunings, plain, one_way)[number % 3]
        costs = kind(rng, count)
        cost, bound = by_ortools(costs)
        sets.append({"name": f"{kind.__name__} {count}", "costs": costs, "ortools_cost": cost,
                     "ortools_bound": bound, "networkx_cost": by_networkx(costs)})
        print(sets[-1]["name"], cost, bound, sets[-1]["networkx_cost"], flush=True)
    made_by = {name: version(name) for name in ("ortools", "networkx")}
    lines = ",\n".join(json.dumps(one, separators=(",", ":")) for one in sets)
    with open("tests/assets/order_sets.json", "w", encoding="utf-8") as file:
        file.write(f'{{"made_by":{json.dumps(made_by)},"sets":[\n{lines}\n]}}\n')


main()
