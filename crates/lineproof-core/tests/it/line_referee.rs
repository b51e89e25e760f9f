//! Line theory and two-ports against general libraries, from values stored in `testdata/reference`
//! with the scripts that made them, and against the properties that any of them must have.

use lineproof_core::line::geometry::CoaxGeometry;
use lineproof_core::line::input_impedance::{Termination, input_reflection};
use lineproof_core::line::primary::{Primary, Secondary};
use lineproof_core::network::conversion::TwoPort;
use lineproof_core::network::{Chain, Matrix2, Scattering};
use num_complex::Complex64;

/// Reflection and transmission: both sides are closed forms, so only rounding over some 100 rad.
const S_TOL: f64 = 1e-12;
/// Relative, of impedances, propagation constants and matrices.
const REL_TOL: f64 = 1e-11;
/// The referee takes the measured magnetic constant, we the classical one: 1.3·10⁻¹⁰ apart.
const MU_0_TOL_REL: f64 = 2e-10;
/// A ladder of 4096 sections against the continuous line: (γl/4096)²/24 on each of 3 rad, times the
/// slope of a resonance.
const LADDER_TOL: f64 = 3e-6;

// ------------------------------------------------------------------- scikit-rf

#[test]
fn lossy_line_as_scikit_rf_has_it() {
    let table = Table::parse(include_str!("../data/reference/line-scikit-rf.csv"));
    assert_eq!(table.rows.len(), 15);
    for row in &table.rows {
        let freq_hz = row.real("freq_hz");
        let secondary = row.primary().secondary(freq_hz).unwrap();
        near_rel(row, "z0", secondary.z0_ohm, row.complex("z0"), REL_TOL);
        let gamma = row.complex("gamma");
        near_rel(row, "gamma", secondary.gamma_per_m, gamma, REL_TOL);
        let gamma_l = secondary.gamma_l(row.real("length_m"));
        let s = Scattering::line(secondary.z0_ohm, gamma_l, 50.0).unwrap();
        near(row, "s11", s.s11, row.complex("s11"), S_TOL);
        near(row, "s21", s.s21, row.complex("s21"), S_TOL);
        let chain = Chain::line(secondary.z0_ohm, gamma_l).unwrap();
        let s = chain.scattering([50.0, 50.0]).unwrap();
        near(row, "s11 by chain", s.s11, row.complex("s11"), S_TOL);
        near(row, "s21 by chain", s.s21, row.complex("s21"), S_TOL);
    }
}

#[test]
fn coaxial_cross_section_as_scikit_rf_has_it() {
    let table = Table::parse(include_str!("../data/reference/coax-scikit-rf.csv"));
    assert_eq!(table.rows.len(), 32);
    for row in &table.rows {
        let thickness_m = row.real("thickness_m");
        let without_end = thickness_m >= 1.0;
        let geometry = row.geometry((!without_end).then_some(thickness_m));
        // A tube is taken as plane: off by its wall over its diameter, see `skin::tube_ohm_m`.
        let plane = thickness_m / geometry.outer_diameter_m;
        let limit = if without_end { MU_0_TOL_REL } else { plane };
        let freq_hz = row.real("freq_hz");
        let primary = geometry.primary(freq_hz);
        for (what, got, limit) in [
            ("r_ohm_m", primary.r_ohm_m, limit),
            ("l_h_m", primary.l_h_m, limit),
            ("g_s_m", primary.g_s_m, MU_0_TOL_REL),
            ("c_f_m", primary.c_f_m, MU_0_TOL_REL),
        ] {
            near_rel(row, what, got.into(), row.real(what).into(), limit);
        }
        let Secondary {
            z0_ohm,
            gamma_per_m,
        } = primary.secondary(freq_hz).unwrap();
        near_rel(row, "z0", z0_ohm, row.complex("z0"), limit);
        near_rel(row, "gamma", gamma_per_m, row.complex("gamma"), limit);
    }
}

#[test]
fn two_port_conversions_as_scikit_rf_has_them() {
    for case in random_two_ports() {
        let s = case.scattering("s", [50.0, 50.0]);
        case.near("z", s.impedance().unwrap().0);
        case.near("y", s.admittance().unwrap().0);
        case.near("h", s.hybrid().unwrap().0);
        case.near("g", s.inverse_hybrid().unwrap().0);
        case.near("abcd", s.chain().unwrap().matrix());
        let mixed = case.scattering("s", [50.0, 75.0]);
        case.near("z-of-50-75", mixed.impedance().unwrap().0);
        case.near("abcd-of-50-75", mixed.chain().unwrap().matrix());
    }
}

#[test]
fn renormalisation_as_scikit_rf_has_it() {
    for case in random_two_ports() {
        let s = case.scattering("s", [50.0, 50.0]);
        case.near("s-in-75", s.renormalised([75.0, 75.0]).unwrap().matrix());
        let mixed = s.renormalised([25.0, 300.0]).unwrap();
        case.near("s-in-25-300", mixed.matrix());
        // The other way: through the voltages and currents.
        let by_state = s.scattering([25.0, 300.0]).unwrap();
        case.near("s-in-25-300", by_state.matrix());
    }
}

#[test]
fn cascade_and_de_embedding_as_scikit_rf_has_them() {
    let refs = [50.0, 50.0];
    for case in random_two_ports() {
        let here = case.scattering("s", refs).chain().unwrap();
        let there = case.scattering("other", refs).chain().unwrap();
        let both = (here * there).scattering(refs).unwrap();
        case.near("s-cascade-other", both.matrix());
        let without = (here.inverse().unwrap() * there).scattering(refs).unwrap();
        case.near("s-inverse-cascade-other", without.matrix());
    }
}

// ------------------------------------------------------------------- ngspice

#[test]
fn lossy_line_as_ngspice_has_it() {
    let table = Table::parse(include_str!("../data/reference/line-ngspice.csv"));
    assert_eq!(table.rows.len(), 40);
    for row in &table.rows {
        let (line, length_m, limit) = match row.text("case") {
            "rlc" => (CABLE, 10.0, S_TOL),
            "rlgc" => (LEAKY, 1.5, LADDER_TOL),
            other => panic!("no line {other}"),
        };
        let secondary = line.secondary(row.real("freq_hz")).unwrap();
        let gamma_l = secondary.gamma_l(length_m);
        let reflection = input_reflection(row.end(), secondary.z0_ohm, gamma_l, 50.0).unwrap();
        let wanted = row.complex("reflection");
        near(row, "reflection", reflection, wanted, limit);
        if row.text("end") == "50" {
            let s = Scattering::line(secondary.z0_ohm, gamma_l, 50.0).unwrap();
            let wanted = row.complex("transmission");
            near(row, "transmission", s.s21, wanted, limit);
        }
    }
}

#[test]
fn damaged_cable_as_ngspice_has_it() {
    let table = Table::parse(include_str!("../data/reference/damaged-ngspice.csv"));
    assert_eq!(table.rows.len(), 20);
    for row in &table.rows {
        let cable = damaged_cable(row.real("freq_hz"));
        let reflection = cable.input_reflection(row.end(), 50.0).unwrap();
        let wanted = row.complex("reflection");
        near(row, "reflection", reflection, wanted, S_TOL);
        if row.text("end") == "50" {
            let s21 = cable.scattering([50.0, 50.0]).unwrap().s21;
            near(row, "transmission", s21, row.complex("transmission"), S_TOL);
        }
    }
}

const CABLE: Primary = Primary {
    r_ohm_m: 0.2,
    l_h_m: 252e-9,
    g_s_m: 0.0,
    c_f_m: 101e-12,
};

const LEAKY: Primary = Primary {
    r_ohm_m: 1.5,
    l_h_m: 375e-9,
    g_s_m: 2e-4,
    c_f_m: 67e-12,
};

const DENT: Primary = Primary {
    r_ohm_m: 0.3,
    l_h_m: 200e-9,
    g_s_m: 0.0,
    c_f_m: 130e-12,
};

/// The circuit in the header of `damaged-ngspice.csv`.
fn damaged_cable(freq_hz: f64) -> Chain {
    let omega = std::f64::consts::TAU * freq_hz;
    let piece = |line: Primary, length_m: f64| {
        let secondary = line.secondary(freq_hz).expect("not direct current");
        Chain::line(secondary.z0_ohm, secondary.gamma_l(length_m)).expect("a short piece")
    };
    Chain::cascade(&[
        piece(CABLE, 0.7),
        Chain::series(Complex64::new(1.5, omega * 3e-9)),
        piece(DENT, 0.05),
        Chain::shunt(Complex64::new(0.0, omega * 2e-12)),
        piece(CABLE, 1.1),
    ])
}

// ------------------------------------------------------------------- reading the tables

/// A stored table: a header and rows of text or numbers.
pub(crate) struct Table {
    pub(crate) rows: Vec<Row>,
}

pub(crate) struct Row {
    names: &'static str,
    line: &'static str,
}

impl Table {
    pub(crate) fn parse(text: &'static str) -> Self {
        let mut lines = text.lines().filter(|line| !line.starts_with('#'));
        let names = lines.next().expect("a table has a header");
        let rows = lines.map(|line| Row { names, line }).collect();
        Self { rows }
    }
}

impl Row {
    pub(crate) fn text(&self, name: &str) -> &str {
        let column = self.names.split(',').position(|n| n == name);
        let column = column.unwrap_or_else(|| panic!("no column {name}"));
        self.line.split(',').nth(column).expect("rows are complete")
    }

    pub(crate) fn real(&self, name: &str) -> f64 {
        self.text(name).parse().expect("a number")
    }

    pub(crate) fn complex(&self, name: &str) -> Complex64 {
        Complex64::new(
            self.real(&format!("{name}_re")),
            self.real(&format!("{name}_im")),
        )
    }

    fn primary(&self) -> Primary {
        Primary {
            r_ohm_m: self.real("r_ohm_m"),
            l_h_m: self.real("l_h_m"),
            g_s_m: self.real("g_s_m"),
            c_f_m: self.real("c_f_m"),
        }
    }

    fn geometry(&self, shield_thickness_m: Option<f64>) -> CoaxGeometry {
        CoaxGeometry {
            inner_diameter_m: self.real("inner_diameter_m"),
            outer_diameter_m: self.real("outer_diameter_m"),
            eps_r: self.real("eps_r"),
            tan_delta: self.real("tan_delta"),
            conductivity_s_per_m: self.real("conductivity_s_per_m"),
            shield_conductivity_s_per_m: self.real("conductivity_s_per_m"),
            shield_thickness_m,
        }
    }

    fn end(&self) -> Termination {
        match self.text("end") {
            "open" => Termination::Open,
            "short" => Termination::Short,
            ohm => Termination::resistance(ohm.parse().expect("a resistance")),
        }
    }

    fn matrix(&self) -> Matrix2 {
        let [a, b, c, d] = ["m11", "m12", "m21", "m22"].map(|name| self.complex(name));
        Matrix2([[a, b], [c, d]])
    }
}

/// One random two-port of the referee and what it makes of it.
struct Case {
    matrices: Vec<(String, Matrix2)>,
}

fn random_two_ports() -> Vec<Case> {
    let table = Table::parse(include_str!("../data/reference/two-port-scikit-rf.csv"));
    let cases: Vec<Case> = table
        .rows
        .chunk_by(|a, b| a.text("case") == b.text("case"))
        .map(|rows| Case {
            matrices: rows
                .iter()
                .map(|row| (row.text("what").to_owned(), row.matrix()))
                .collect(),
        })
        .collect();
    assert_eq!(cases.len(), 6);
    cases
}

impl Case {
    fn matrix(&self, what: &str) -> Matrix2 {
        let found = self.matrices.iter().find(|(name, _)| name == what);
        found.unwrap_or_else(|| panic!("no {what}")).1
    }

    fn scattering(&self, what: &str, z_ref_ohm: [f64; 2]) -> Scattering {
        Scattering::new(self.matrix(what), z_ref_ohm).expect("positive references")
    }

    #[track_caller]
    fn near(&self, what: &str, got: Matrix2) {
        let wanted = self.matrix(what);
        let difference = (got - wanted).largest_singular_value();
        assert!(
            difference <= REL_TOL * wanted.largest_singular_value(),
            "{what}: got {got:?}, wanted {wanted:?}, difference {difference:e}"
        );
    }
}

#[track_caller]
fn near(row: &Row, what: &str, got: Complex64, wanted: Complex64, limit: f64) {
    let difference = (got - wanted).norm();
    assert!(
        difference <= limit,
        "{what}: got {got}, wanted {wanted} within {limit:e}, difference {difference:e}, row {}",
        row.line
    );
}

#[track_caller]
fn near_rel(row: &Row, what: &str, got: Complex64, wanted: Complex64, limit: f64) {
    near(row, what, got, wanted, limit * wanted.norm());
}
