//! The unknowns by name, and the index map that flattens them into one vector.
//!
//! Each struct is generic over what it holds for an unknown: its value (`f64`), its prior
//! ([`Normal`]), or its index in the vector (`usize`). [`AT`] is the index map; no other place knows
//! in which order the unknowns stand.
//!
//! Times that look odd: capacitances and inductances of standards and far ends are kept as time
//! constants against the calibration load (C·R and L/R, seconds), because only these show.

/// A normal distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Normal {
    pub(crate) mean: f64,
    /// Standard deviation.
    pub(crate) sd: f64,
}

impl Normal {
    pub(crate) const fn new(mean: f64, sd: f64) -> Self {
        Self { mean, sd }
    }

    /// Holds an unknown at a value.
    pub(crate) const fn fixed(mean: f64) -> Self {
        Self { mean, sd: FIXED_SD }
    }

    /// Whether the unknown stays where it is.
    pub(crate) fn is_fixed(self) -> bool {
        self.sd <= FIXED_SD
    }
}

/// Standard deviation that holds an unknown where it is: the fit divides by it, so it is not zero.
pub(crate) const FIXED_SD: f64 = 1e-12;

/// Defines a struct that holds one value for each unknown of a part of the model.
macro_rules! unknowns {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $field:ident,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq)]
        #[allow(clippy::struct_field_names, reason = "the units and logarithms are part of the names")]
        pub(crate) struct $name<T> {
            $($(#[$of])* pub(crate) $field: T,)*
        }

        #[allow(dead_code, reason = "not every part of the model needs every one")]
        impl<T> $name<T> {
            /// Number of unknowns.
            pub(crate) const COUNT: usize = [$(stringify!($field)),*].len();

            /// All of them, in the order in which they stand in the vector.
            pub(crate) fn into_array(self) -> [T; [$(stringify!($field)),*].len()] {
                [$(self.$field),*]
            }

            /// The same for what `of` makes of each.
            pub(crate) fn map<U>(self, mut of: impl FnMut(T) -> U) -> $name<U> {
                $name { $($field: of(self.$field),)* }
            }

            /// What `of` makes of each and of its like in `other`.
            pub(crate) fn zip_with<U, V>(
                self,
                other: $name<U>,
                mut of: impl FnMut(T, U) -> V,
            ) -> $name<V> {
                $name { $($field: of(self.$field, other.$field),)* }
            }
        }

        #[allow(dead_code, reason = "not every part of the model needs every one")]
        impl $name<usize> {
            /// Places in the vector, one after the other.
            #[allow(unused_assignments, reason = "the last field leaves the counter")]
            pub(crate) const fn starting_at(first: usize) -> Self {
                let mut next = first;
                $(let $field = next; next += 1;)*
                Self { $($field,)* }
            }

            /// The values at these places.
            pub(crate) fn values(self, theta: &[f64]) -> $name<f64> {
                self.map(|i| theta[i])
            }
        }
    };
}
pub(super) use unknowns;

unknowns! {
    /// The line itself.
    Line {
        /// ln of the high-frequency impedance over the calibration load.
        ln_z,
        /// One-way delay of the whole piece, plugs included, without internal inductance, s.
        delay_s,
        /// ln of the conductor loss per delay: nepers per second and √Hz.
        ln_conductor,
        /// ln of the loss tangent at 100 MHz.
        ln_tan_delta,
        /// Power of the frequency by which the loss tangent rises.
        tan_delta_exponent,
        /// ln of the equivalent wire radius, m: where resistance levels off.
        ln_radius,
        /// ln of internal reactance over what a smooth conductor of that resistance has.
        ln_reactance,
        /// By how much the exponent of the internal impedance differs from a smooth conductor's.
        exponent,
        /// ln of the shield's share of the conductor loss over the wire's.
        ln_shield_share,
        /// ln of the shield's thickness, m: where its resistance levels off.
        ln_shield,
    }
}

unknowns! {
    /// A plug at an end of the cable.
    Plug {
        /// Its delay by way of [`super::connectors::plug_delay_s`].
        delay,
        /// ln of its impedance over the calibration load.
        ln_z,
        /// The resistance of its contacts by way of [`super::connectors`]' logistic function.
        contact,
    }
}

unknowns! {
    /// The calibration's standards.
    Standards {
        /// Capacitance of the open times R₀, s.
        open,
        /// Inductance of the short over R₀, s.
        short,
        /// Inductance in series with the load over R₀, s.
        load_l,
        /// Capacitance across the load times R₀, s.
        load_c,
    }
}

unknowns! {
    /// What ends the cable: by how much it differs from the calibration's standard.
    FarEnd {
        /// Capacitance of the open times R₀, s.
        open,
        /// Inductance of the short over R₀, s.
        short,
        /// Inductance in series with the load over R₀, s.
        load_l,
        /// Capacitance across the load times R₀, s.
        load_c,
        /// ln of the load's resistance over the calibration load.
        load_ln_r,
    }
}

unknowns! {
    /// An adapter between plane and plug.
    Adapter {
        /// One-way delay, s.
        delay_s,
        /// ln of the impedance over the calibration load.
        ln_z,
        /// One-way loss at 1 GHz, Np.
        loss_np,
    }
}

/// Every unknown but those of smooth errors, of the impedance along the cable and of faults, whose
/// number differs from one cable to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Parameters<T> {
    pub(crate) line: Line<T>,
    pub(crate) near: Plug<T>,
    pub(crate) far: Plug<T>,
    pub(crate) standards: Standards<T>,
    pub(crate) far_end: FarEnd<T>,
    pub(crate) near_adapter: Adapter<T>,
    pub(crate) far_adapter: Adapter<T>,
}

/// The index map. The plugs' delays stand behind the line's own unknowns, because the line between
/// the plugs depends on them too (see [`LineGradient`]).
pub(crate) const AT: Parameters<usize> = {
    let line = Line::starting_at(0);
    let delays = Line::<usize>::COUNT;
    let impedances = delays + 2;
    let contacts = impedances + 2;
    let standards = contacts + 2;
    let far_end = standards + Standards::<usize>::COUNT;
    let adapters = far_end + FarEnd::<usize>::COUNT;
    Parameters {
        line,
        near: Plug {
            delay: delays,
            ln_z: impedances,
            contact: contacts,
        },
        far: Plug {
            delay: delays + 1,
            ln_z: impedances + 1,
            contact: contacts + 1,
        },
        standards: Standards::starting_at(standards),
        far_end: FarEnd::starting_at(far_end),
        near_adapter: Adapter::starting_at(adapters),
        far_adapter: Adapter::starting_at(adapters + Adapter::<usize>::COUNT),
    }
};

/// Number of unknowns in [`Parameters`].
pub(crate) const PARAMETERS: usize = AT.far_adapter.loss_np + 1;

impl<T: Copy> Parameters<T> {
    /// All of them, in the order in which they stand in the vector.
    pub(crate) fn to_vec(self) -> Vec<T> {
        let (near, far) = (self.near, self.far);
        self.line
            .into_array()
            .into_iter()
            .chain([near.delay, far.delay, near.ln_z, far.ln_z])
            .chain([near.contact, far.contact])
            .chain(self.standards.into_array())
            .chain(self.far_end.into_array())
            .chain(self.near_adapter.into_array())
            .chain(self.far_adapter.into_array())
            .collect()
    }
}

/// Derivatives of the line between the plugs: by its own unknowns and by the plugs' delays, which
/// it leaves of the whole piece's delay.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LineGradient<T> {
    pub(crate) line: Line<T>,
    pub(crate) near_delay: T,
    pub(crate) far_delay: T,
}

/// Number of unknowns that the line between the plugs depends on.
const LINE_UNKNOWNS: usize = Line::<usize>::COUNT + 2;

impl<T> LineGradient<T> {
    fn into_array(self) -> [T; LINE_UNKNOWNS] {
        let [a, b, c, d, e, f, g, h, i, j] = self.line.into_array();
        [
            a,
            b,
            c,
            d,
            e,
            f,
            g,
            h,
            i,
            j,
            self.near_delay,
            self.far_delay,
        ]
    }

    /// Each with the index of its unknown.
    pub(crate) fn indexed(self) -> impl Iterator<Item = (usize, T)> {
        (AT.line.ln_z..LINE_UNKNOWNS).zip(self.into_array())
    }

    /// What `of` makes of each.
    pub(crate) fn map<U>(self, mut of: impl FnMut(T) -> U) -> LineGradient<U> {
        LineGradient {
            line: self.line.map(&mut of),
            near_delay: of(self.near_delay),
            far_delay: of(self.far_delay),
        }
    }

    /// What `of` makes of each and of its like in `other`.
    pub(crate) fn zip_with<U, V>(
        self,
        other: LineGradient<U>,
        mut of: impl FnMut(T, U) -> V,
    ) -> LineGradient<V> {
        LineGradient {
            line: self.line.zip_with(other.line, &mut of),
            near_delay: of(self.near_delay, other.near_delay),
            far_delay: of(self.far_delay, other.far_delay),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_parameter_has_one_place() {
        assert_eq!(AT.to_vec(), (0..PARAMETERS).collect::<Vec<_>>());
        let of_line = LineGradient {
            line: AT.line,
            near_delay: AT.near.delay,
            far_delay: AT.far.delay,
        };
        assert!(of_line.indexed().all(|(index, at)| index == at));
    }
}
