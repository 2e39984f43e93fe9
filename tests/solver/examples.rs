//! Printed examples of whole networks: textbook figures, each with its source.

use std::collections::BTreeMap;

use farend::circuit::{Circuit, Law};
use rstest::rstest;

use super::{load, node, solved, source, wire};

/// One printed example; node "0" is the common point.
struct Example {
    source: &'static str,
    branches_ohm: &'static [(&'static str, &'static str, f64)],
    source_v: &'static [(&'static str, &'static str, f64)],
    load_a: &'static [(&'static str, &'static str, f64)],
    load_ohm: &'static [(&'static str, &'static str, f64)],
    /// Quantity, value, tolerance: half of the last printed digit.
    expected: &'static [(&'static str, f64, f64)],
}

const VD_06: Example = Example {
    source: "V.K. Mehta and R. Mehta, Principles of Power System, ch. 13 D.C. Distribution, Example 13.1, p. 313",
    branches_ohm: &[
        ("A", "C", 0.01),
        ("C", "D", 0.01),
        ("D", "E", 0.012),
        ("E", "B", 0.008),
    ],
    source_v: &[("A", "0", 300.0)],
    load_a: &[
        ("C", "0", 100.0),
        ("D", "0", 150.0),
        ("E", "0", 200.0),
        ("B", "0", 50.0),
    ],
    load_ohm: &[],
    expected: &[
        ("V(C)", 295.0, 0.05),
        ("V(D)", 291.0, 0.05),
        ("V(E)", 288.0, 0.05),
        ("V(B)", 287.6, 0.05),
    ],
};

const VD_12: Example = Example {
    source: "OpenStax, College Physics, Resistors in Series and Parallel, combination example: lead resistance 1.00 ohm feeding 6.00 and 13.0 ohm in parallel, 12.0 V",
    branches_ohm: &[("S", "L", 1.0)],
    source_v: &[("S", "0", 12.0)],
    load_a: &[],
    load_ohm: &[("L", "0", 6.0), ("L", "0", 13.0)],
    expected: &[("I(S,L)", 2.35, 0.005), ("V(S,L)", 2.35, 0.005)],
};

const MS_01: Example = Example {
    source: "V.K. Mehta and R. Mehta, Principles of Power System, ch. 13 D.C. Distribution, Example 13.11, p. 322 (fed at 230 V and 235 V)",
    branches_ohm: &[
        ("A", "C", 0.03),
        ("C", "D", 0.015),
        ("D", "E", 0.015),
        ("E", "F", 0.03),
        ("F", "B", 0.03),
    ],
    source_v: &[("A", "0", 230.0), ("B", "0", 235.0)],
    load_a: &[
        ("C", "0", 25.0),
        ("D", "0", 50.0),
        ("E", "0", 30.0),
        ("F", "0", 40.0),
    ],
    load_ohm: &[],
    expected: &[
        ("I(A,C)", 33.33, 0.005),
        ("I(C,D)", 8.33, 0.005),
        ("I(D,E)", -41.67, 0.005),
        ("I(E,F)", -71.67, 0.005),
        ("I(F,B)", -111.67, 0.005),
        ("V(D)", 228.875, 0.0006),
    ],
};

const MS_03: Example = Example {
    source: "B.L. Theraja and A.K. Theraja, A Textbook of Electrical Technology vol. III, ch. 40 D.C. Transmission and Distribution, Example 40.10, p. 1584 (236 V / 237 V)",
    branches_ohm: &[
        ("A", "C", 0.04),
        ("C", "D", 0.02),
        ("D", "E", 0.02),
        ("E", "F", 0.04),
        ("F", "B", 0.04),
    ],
    source_v: &[("A", "0", 236.0), ("B", "0", 237.0)],
    load_a: &[
        ("C", "0", 20.0),
        ("D", "0", 40.0),
        ("E", "0", 25.0),
        ("F", "0", 30.0),
    ],
    load_ohm: &[],
    expected: &[
        ("I(A,C)", 53.75, 0.005),
        ("I(C,D)", 33.75, 0.005),
        ("I(D,E)", -6.25, 0.005),
        ("I(E,F)", -31.25, 0.005),
        ("I(F,B)", -61.25, 0.005),
        ("V(D)", 233.18, 0.006),
    ],
};

const MS_04: Example = Example {
    source: "B.L. Theraja and A.K. Theraja, A Textbook of Electrical Technology vol. III, ch. 40 D.C. Transmission and Distribution, Example 40.12, p. 1585",
    branches_ohm: &[
        ("P", "1", 0.0125),
        ("1", "2", 0.01875),
        ("2", "3", 0.03125),
        ("3", "4", 0.0125),
        ("4", "5", 0.0125),
        ("5", "Q", 0.0125),
    ],
    source_v: &[("P", "0", 248.0), ("Q", "0", 245.0)],
    load_a: &[
        ("1", "0", 20.0),
        ("2", "0", 80.0),
        ("3", "0", 50.0),
        ("4", "0", 70.0),
        ("5", "0", 40.0),
    ],
    load_ohm: &[],
    expected: &[
        ("I(P,1)", 143.75, 0.005),
        ("I(Q,5)", 116.25, 0.005),
        ("P_loss", 847.34, 0.006),
    ],
};

const MS_08: Example = Example {
    source: "B.L. Theraja and A.K. Theraja, A Textbook of Electrical Technology vol. III, ch. 40 D.C. Transmission and Distribution, Example 40.19, p. 1591, part 1 (ring ABCDE) = Mehta 13.23, p. 335",
    branches_ohm: &[
        ("A", "B", 0.1),
        ("B", "C", 0.05),
        ("C", "D", 0.01),
        ("D", "E", 0.025),
        ("E", "A", 0.075),
    ],
    source_v: &[("A", "0", 220.0)],
    load_a: &[
        ("B", "0", 10.0),
        ("C", "0", 20.0),
        ("D", "0", 30.0),
        ("E", "0", 10.0),
    ],
    load_ohm: &[],
    expected: &[
        ("I(A,B)", 29.04, 0.005),
        ("I(B,C)", 19.04, 0.005),
        ("I(D,C)", 0.96, 0.005),
        ("I(E,D)", 30.96, 0.005),
        ("I(A,E)", 40.96, 0.005),
        ("V(B)", 217.1, 0.05),
        ("V(C)", 216.14, 0.005),
        ("V(D)", 216.15, 0.005),
        ("V(E)", 216.93, 0.005),
    ],
};

const MS_12: Example = Example {
    source: "A. Chakrabarti, M.L. Soni, P.V. Gupta, U.S. Bhatnagar, A Textbook on Power System Engineering, Example 2.18.1, p. 437 (five sources into a star point)",
    branches_ohm: &[
        ("A", "O", 5.0),
        ("B", "O", 1.0),
        ("C", "O", 1.0),
        ("D", "O", 2.0),
        ("E", "O", 2.0),
    ],
    source_v: &[
        ("A", "0", 225.0),
        ("B", "0", 210.0),
        ("C", "0", 230.0),
        ("D", "0", 230.0),
        ("E", "0", 240.0),
    ],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("V(O)", 225.0, 0.5),
        ("I(A,O)", 0.0, 0.5),
        ("I(B,O)", -15.0, 0.5),
        ("I(C,O)", 5.0, 0.5),
        ("I(D,O)", 2.5, 0.005),
        ("I(E,O)", 7.5, 0.005),
    ],
};

const MS_13: Example = Example {
    source: "T.R. Kuphaldt, Lessons in Electric Circuits, vol. I DC, ch. 10 DC Network Analysis, unbalanced bridge, 24 V (mesh, node and SPICE results)",
    branches_ohm: &[
        ("1", "2", 150.0),
        ("1", "3", 50.0),
        ("2", "3", 100.0),
        ("2", "0", 300.0),
        ("3", "0", 250.0),
    ],
    source_v: &[("1", "0", 24.0)],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("V(1,2)", 6.345, 0.0005),
        ("V(1,3)", 4.69, 0.0005),
        ("V(3,2)", 1.655, 0.0005),
        ("V(2)", 17.655, 0.0005),
        ("V(3)", 19.31, 0.0005),
        ("I(1,2)", 0.042299, 1e-06),
        ("I(3,2)", 0.016552, 1e-06),
    ],
};

const MS_14: Example = Example {
    source: "T.R. Kuphaldt, Lessons in Electric Circuits, vol. I DC, ch. 10, delta-wye example, 10 V bridge (SPICE results)",
    branches_ohm: &[
        ("1", "2", 12.0),
        ("1", "3", 18.0),
        ("2", "3", 6.0),
        ("2", "0", 18.0),
        ("3", "0", 12.0),
    ],
    source_v: &[("1", "0", 10.0)],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("V(1,2)", 4.706, 0.0005),
        ("V(1,3)", 5.294, 0.0005),
        ("V(2,3)", 0.5882, 5e-05),
        ("V(2)", 5.294, 0.0005),
        ("V(3)", 4.706, 0.0005),
    ],
};

const MS_16: Example = Example {
    source: "C.R. Robertson, Fundamental Electrical and Electronic Principles, Example 2.11, p. 57 (unbalanced bridge, 10 V)",
    branches_ohm: &[
        ("A", "B", 6.0),
        ("B", "C", 4.0),
        ("D", "C", 1.0),
        ("A", "D", 3.0),
        ("B", "D", 5.0),
    ],
    source_v: &[("A", "0", 10.0), ("C", "0", 0.0)],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("I(A,B)", 1.074, 0.0005),
        ("I(B,C)", 0.89, 0.005),
        ("I(D,C)", 2.638, 0.0005),
        ("I(A,D)", 2.454, 0.0005),
        ("I(B,D)", 0.184, 0.0005),
    ],
};

const MS_18: Example = Example {
    source: "S.C. Chapra and R.P. Canale, Numerical Methods for Engineers, case study Currents and Voltages in Resistor Circuits (200 V, 0 V terminals)",
    branches_ohm: &[
        ("1", "2", 5.0),
        ("2", "3", 10.0),
        ("3", "4", 5.0),
        ("4", "5", 15.0),
        ("2", "5", 10.0),
        ("5", "6", 20.0),
    ],
    source_v: &[("1", "0", 200.0), ("6", "0", 0.0)],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("I(1,2)", 6.1538, 5e-05),
        ("I(2,5)", 4.6154, 5e-05),
        ("I(2,3)", 1.5385, 5e-05),
        ("V(2)", 169.23, 0.005),
        ("V(3)", 153.85, 0.005),
        ("V(4)", 146.15, 0.005),
        ("V(5)", 123.08, 0.005),
    ],
};

const SR_01: Example = Example {
    source: "V.K. Mehta and R. Mehta, Principles of Power System, ch. 13 D.C. Distribution, Example 13.26, p. 341 (three-wire, outers 0.1, neutral 0.2 ohm, 50 A and 40 A)",
    branches_ohm: &[("P", "P1", 0.1), ("0", "N1", 0.2), ("M1", "M", 0.1)],
    source_v: &[("P", "0", 250.0), ("M", "0", -250.0)],
    load_a: &[("P1", "N1", 50.0), ("N1", "M1", 40.0)],
    load_ohm: &[],
    expected: &[("V(P1,N1)", 243.0, 0.05), ("V(N1,M1)", 248.0, 0.05)],
};

const SR_04: Example = Example {
    source: "V.K. Mehta and R. Mehta, Principles of Power System, ch. 13 D.C. Distribution, Example 13.3, p. 315 (tramway: supply wire 0.25 ohm/km, shared track return 0.03 ohm/km)",
    branches_ohm: &[
        ("S", "A", 0.5),
        ("A", "B", 1.0),
        ("a", "0", 0.06),
        ("b", "a", 0.12),
    ],
    source_v: &[("S", "0", 600.0)],
    load_a: &[("A", "a", 40.0), ("B", "b", 20.0)],
    load_ohm: &[],
    expected: &[("V(A,a)", 566.4, 0.05), ("V(B,b)", 544.0, 0.05)],
};

const SO_05: Example = Example {
    source: "P.S. Dhogal, Basic Electrical Engineering with Numerical Problems, Example 9.9, p. 182 (230 V through 5 ohm into two batteries: 122 V 0.4 ohm, 130 V 0.5 ohm)",
    branches_ohm: &[("S", "J", 5.0), ("A", "J", 0.4), ("B", "J", 0.5)],
    source_v: &[("S", "0", 230.0), ("A", "0", 122.0), ("B", "0", 130.0)],
    load_a: &[],
    load_ohm: &[],
    expected: &[
        ("I(S,J)", 20.0, 0.05),
        ("I(J,A)", 20.0, 0.05),
        ("I(J,B)", 0.0, 0.05),
    ],
};

#[rstest]
#[case::vd_06(VD_06)]
#[case::vd_12(VD_12)]
#[case::ms_01(MS_01)]
#[case::ms_03(MS_03)]
#[case::ms_04(MS_04)]
#[case::ms_08(MS_08)]
#[case::ms_12(MS_12)]
#[case::ms_13(MS_13)]
#[case::ms_14(MS_14)]
#[case::ms_16(MS_16)]
#[case::ms_18(MS_18)]
#[case::sr_01(SR_01)]
#[case::sr_04(SR_04)]
#[case::so_05(SO_05)]
fn example_agrees_with_its_print(#[case] example: Example) {
    let mut nodes = BTreeMap::new();
    let circuit = build(&example, &mut nodes);
    let solution = solved(&circuit);
    for &(quantity, value, tolerance) in example.expected {
        let got = measure(quantity, &circuit, &nodes, &solution);
        assert!(
            (got - value).abs() <= tolerance,
            "{quantity}: {got} for {value} of {}",
            example.source
        );
    }
}

fn build(example: &Example, nodes: &mut BTreeMap<&'static str, u32>) -> Circuit {
    let mut circuit = Circuit::default();
    let lists = [
        example.branches_ohm,
        example.source_v,
        example.load_a,
        example.load_ohm,
    ];
    for &(a, b, _) in lists.iter().copied().flatten() {
        for name in [a, b] {
            nodes.entry(name).or_insert_with(|| node(&mut circuit));
        }
    }
    for (a, b, ohm) in example.branches_ohm {
        wire(&mut circuit, nodes[a], nodes[b], *ohm);
    }
    for (a, b, volts) in example.source_v {
        source(&mut circuit, nodes[a], nodes[b], *volts, 0.0);
    }
    for (a, b, amps) in example.load_a {
        load(&mut circuit, nodes[a], nodes[b], Law::Current(*amps));
    }
    for (a, b, ohm) in example.load_ohm {
        load(&mut circuit, nodes[a], nodes[b], Law::Resistance(*ohm));
    }
    circuit
}

/// Reads V(a,b), V(a) over "0", I(a,b) or the loss of all branches.
fn measure(
    quantity: &str,
    circuit: &Circuit,
    nodes: &BTreeMap<&str, u32>,
    solution: &farend::solve::Solution,
) -> f64 {
    let branches = circuit.branches.iter().zip(&solution.branch_a);
    if quantity == "P_loss" {
        return branches
            .map(|(branch, amps)| branch.resistance_ohm * amps * amps)
            .sum();
    }
    let (kind, rest) = quantity.split_at(1);
    let inside = rest.trim_matches(['(', ')']);
    let (a, b) = inside.split_once(',').unwrap_or((inside, "0"));
    let (a, b) = (nodes[a], nodes[b]);
    if kind == "V" {
        return solution.node_v[a as usize] - solution.node_v[b as usize];
    }
    let current = |(branch, amps): (&farend::circuit::Branch, &f64)| {
        if (branch.from, branch.to) == (a, b) {
            *amps
        } else if (branch.to, branch.from) == (a, b) {
            -amps
        } else {
            0.0
        }
    };
    branches.map(current).sum()
}
