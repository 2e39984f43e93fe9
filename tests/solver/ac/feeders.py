"""Radial ac feeders of constant-power draws, solved by pandapower; prints the record that
feeders.toml holds. Single-phase with return is entered as its balanced equivalent: pandapower
solves one phase of a balanced three-phase network, so volts are entered times sqrt 3 and draws
times 3, and what it prints is taken back.

    pip install pandapower && python feeders.py > feeders.toml
"""

import math
import random

import pandapower

ROOT3 = math.sqrt(3)


def feeder(rng, buses):
    """A random tree: for each bus its parent, ohms to it, reactance, draw and power factor."""
    rows = []
    for bus in range(1, buses):
        rows.append(
            (
                rng.randrange(max(0, bus - 3), bus),
                round(rng.uniform(0.05, 0.6), 4),
                round(rng.uniform(0.0, 0.3), 4),
                round(rng.uniform(0.5, 6.0), 3),
                round(rng.uniform(0.6, 1.0), 3),
            )
        )
    return rows


def solve(volts, rows):
    net = pandapower.create_empty_network(f_hz=60.0, sn_mva=1e-5)
    kv = volts * ROOT3 / 1000
    for _ in range(len(rows) + 1):
        pandapower.create_bus(net, vn_kv=kv)
    pandapower.create_ext_grid(net, 0, vm_pu=1.0)
    for bus, (parent, ohm, x, va, pf) in enumerate(rows, start=1):
        pandapower.create_line_from_parameters(
            net, parent, bus, length_km=1.0, r_ohm_per_km=ohm, x_ohm_per_km=x,
            c_nf_per_km=0.0, max_i_ka=1.0,
        )
        watts = va * pf
        pandapower.create_load(
            net, bus, p_mw=3e-6 * watts, q_mvar=3e-6 * math.sqrt(va * va - watts * watts)
        )
    pandapower.runpp(net, tolerance_mva=1e-12, max_iteration=50, init="flat", numba=False)
    return [
        (vm * volts, va)
        for vm, va in zip(net.res_bus.vm_pu, net.res_bus.va_degree)
    ]


def main():
    rng = random.Random(1)
    print("# Solved by feeders.py; volts are rms at each bus, degrees against the supply.")
    print(f'\npandapower = "{pandapower.__version__}"')
    for volts, buses in [(24.0, 3), (24.0, 8), (16.0, 5), (24.0, 12), (12.0, 4)]:
        rows = feeder(rng, buses)
        print(f"\n[[feeder]]\nvolts = {volts}\nbus = [")
        found = solve(volts, rows)[1:]
        for (parent, ohm, x, va, pf), (v, degrees) in zip(rows, found):
            print(
                f"    {{ parent = {parent}, ohm = {ohm}, reactance_ohm = {x}, va = {va},"
                f" power_factor = {pf}, volts = {v:.10f}, degrees = {degrees:.8f} }},"
            )
        print("]")


main()
