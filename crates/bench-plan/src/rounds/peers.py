"""Answers one question on standard input with a peer's best tours: {"tours": [[node, ...]], "seconds": s}."""
import json, sys, time


def or_tools(q):
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2 as enums

    d, n, m = q["table"], len(q["table"]), q["guards"]
    manager = pywrapcp.RoutingIndexManager(n, m, 0)
    routing = pywrapcp.RoutingModel(manager)
    transit = routing.RegisterTransitCallback(
        lambda a, b: d[manager.IndexToNode(a)][manager.IndexToNode(b)]
    )
    routing.SetArcCostEvaluatorOfAllVehicles(transit)
    if m > 1:
        cap = q.get("cap") or 2**40
        routing.AddDimension(transit, 0, cap, True, "length")
        if q.get("cap"):
            routing.SetFixedCostOfAllVehicles(q["cap"] * 10)
        else:
            routing.GetDimensionOrDie("length").SetGlobalSpanCostCoefficient(100)
    p = pywrapcp.DefaultRoutingSearchParameters()
    p.first_solution_strategy = enums.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    p.local_search_metaheuristic = enums.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    p.time_limit.FromMilliseconds(int(q["seconds"] * 1000))
    found = routing.SolveWithParameters(p)
    if not found:
        return None
    tours = []
    for v in range(m):
        at, tour = routing.Start(v), []
        while not routing.IsEnd(at):
            tour.append(manager.IndexToNode(at))
            at = found.Value(routing.NextVar(at))
        tours.append(tour)
    return tours


def pyvrp_once(q, cap, seconds):
    from pyvrp import Model
    from pyvrp.stop import MaxRuntime

    d, n = q["table"], len(q["table"])
    model = Model()
    places = [model.add_location(x, y) for x, y in q["points"]]
    model.add_depot(places[0])
    for place in places[1:]:
        model.add_client(place)
    more = {} if cap is None else {"max_distance": int(cap)}
    fixed = {"fixed_cost": q["cap"] * 10} if q.get("cap") else {}
    model.add_vehicle_type(q["guards"], **more, **fixed)
    for a in range(n):
        for b in range(n):
            if a != b:
                model.add_edge(places[a], places[b], distance=d[a][b])
    found = model.solve(MaxRuntime(seconds), seed=q["seed"], display=False)
    if not found.is_feasible():
        return None
    return [[0] + visits(route) for route in found.best.routes()]


def visits(route):
    from pyvrp import ActivityType

    return [act.idx + 1 for act in route if act.type == ActivityType.CLIENT]


def pyvrp(q):
    if q["guards"] == 1 or q.get("cap"):
        return pyvrp_once(q, q.get("cap"), q["seconds"])
    # The longest of several: bisection on a hard cap, between the star and a first solution.
    d = q["table"]
    length = lambda t: sum(d[t[i]][t[(i + 1) % len(t)]] for i in range(len(t)))
    begun, best, low, high = time.time(), None, q["least"], q["most"]
    while time.time() - begun < q["seconds"] and high - low > high * 0.002:
        cap = (low + high) / 2
        found = pyvrp_once(q, cap, min(2.5, q["seconds"]))
        if found is None:
            low = cap
        else:
            best, high = found, max(map(length, found))
    return best


def elkai(q):
    import elkai

    order = elkai.DistanceMatrix(q["table"]).solve_tsp(runs=q["runs"])
    return [order[:-1]]


if __name__ == "__main__":
    question = json.load(sys.stdin)
    peers = {"or-tools": or_tools, "pyvrp": pyvrp, "elkai": elkai}
    __import__({"or-tools": "ortools"}.get(question["peer"], question["peer"]))
    begun = time.time()
    tours = peers[question["peer"]](question)
    print(json.dumps({"tours": tours, "seconds": time.time() - begun}))
