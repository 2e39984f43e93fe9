"""Solves the linear problems of `cargo bench --bench sizing -- instances` with HiGHS.

    pip install highspy
    cargo bench --bench sizing -- instances > instances.json
    python benches/highs.py instances.json benches/sizing-highs.json

One thread, no restarts, no gap allowed, the best of three times. A run's choices are binary, one of them is 1; the volts
lost as far as a device are a free variable, those of the run above and the run's own.
"""

import json
import sys
import time

import highspy

MOST_SECONDS = 120.0
TIMES = 3


def solve(problem):
    highs = highspy.Highs()
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("mip_allow_restart", False),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("mip_feasibility_tolerance", 1e-9),
        ("primal_feasibility_tolerance", 1e-9),
        ("time_limit", MOST_SECONDS),
    ):
        highs.setOptionValue(name, value)
    inf = highspy.kHighsInf
    lost = []
    for run in problem:
        lost.append(highs.addVariable(0.0, run["spare"]))
        chosen = [highs.addBinary(obj=cost) for cost, _ in run["choices"]]
        highs.addConstr(sum(chosen[1:], chosen[0]) == 1)
        own = sum((volts * x for (_, volts), x in zip(run["choices"], chosen)), 0 * chosen[0])
        above = 0 if run["above"] is None else lost[run["above"]]
        highs.addConstr(lost[-1] - above - own == 0)
    start = time.perf_counter()
    highs.run()
    seconds = time.perf_counter() - start
    optimal = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return (highs.getInfo().objective_function_value if optimal else None), seconds


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        instances = json.load(file)
    solved = []
    for instance in instances:
        times = [solve(instance["problem"]) for _ in range(TIMES)]
        cost, seconds = times[0][0], min(seconds for _, seconds in times)
        row = {key: instance[key] for key in ("shape", "runs", "seed")}
        row |= {"cost": None if cost is None else round(cost, 6), "seconds": round(seconds, 4)}
        solved.append(row)
        print(row, file=sys.stderr, flush=True)
    lines = ",\n".join("  " + json.dumps(row) for row in solved)
    version = json.dumps(highspy.Highs().version())
    # The solver prints a greeting of its own to the standard output.
    with open(sys.argv[2], "w", encoding="utf-8") as file:
        file.write('{"version": %s, "solved": [\n%s\n]}\n' % (version, lines))


main()
