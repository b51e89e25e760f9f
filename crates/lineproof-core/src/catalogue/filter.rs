//! What a list of types is narrowed to.

use super::CableType;

/// What a list of types is narrowed to.
#[derive(Clone, Debug, Default)]
pub struct Filter {
    /// Impedance, ohm, within 5 %.
    pub ohm: Option<f64>,
    /// Text in designation, alias, class or specification.
    pub text: Option<String>,
    /// Most loss: frequency, Hz, and dB/m.
    pub most_loss: Option<(f64, f64)>,
    /// Largest outside diameter, m.
    pub most_diameter_m: Option<f64>,
}

impl Filter {
    /// Whether the type stays.
    pub fn keeps(&self, t: &CableType) -> bool {
        let has = |text: &String| {
            let text = text.to_lowercase();
            let names = t
                .aliases
                .iter()
                .chain([&t.designation, &t.class])
                .chain(&t.spec);
            names.into_iter().any(|n| n.to_lowercase().contains(&text))
        };
        let near = |ohm: f64| (t.z0_ohm.value / ohm - 1.0).abs() < 0.05;
        let little =
            |(hz, db_m): (f64, f64)| t.loss.typical_db_m(hz).is_ok_and(|l| l.value <= db_m);
        let thin = |m: f64| t.jacket_diameter_m.as_ref().is_some_and(|d| d.value <= m);
        self.ohm.is_none_or(near)
            && self.text.as_ref().is_none_or(has)
            && self.most_loss.is_none_or(little)
            && self.most_diameter_m.is_none_or(thin)
    }
}
