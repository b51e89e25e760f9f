//! Part of the sweeps taken by itself, to be held against one cable for all of them.

use std::sync::atomic::AtomicBool;

use super::super::model::{AT, PARAMETERS, Readings, thin};
use super::super::prior::Known;
use super::candidate::{
    FEW_ROUNDS, LOST_NOISE, MOST_STEPS, MOST_WANDER, STEPS, UNEVEN, fit_whole, has_odd_sizes,
    most_wander,
};
use super::comparison::{self, Chosen};
use super::problem::Problem;
use super::start;
use super::subset::{AllReadings, DataSubset, FEW_POINTS};

/// How many times as much a fit to all sweeps must leave of one as a fit to that one's part does to be no fit of it.
const LEAVES_FAR_MORE: f64 = 3.0;

/// Whether the explanation leaves something that neither a good analyser nor a good cable does.
pub(crate) fn leaves_something(chosen: &Chosen) -> bool {
    has_odd_sizes(&chosen.fit.hyperparameters, &chosen.fit.theta)
}

/// Whether the points of some sweep follow the phase of this cable.
pub(crate) fn is_followed(chosen: &Chosen) -> bool {
    start::is_followed(&chosen.readings, chosen.fit.theta[AT.line.delay_s])
}

/// Whether what it leaves may be a fault: unevenness along the cable or noise, which no analyser's errors make.
pub(crate) fn may_have_faults(whole: &Chosen) -> bool {
    let sizes = &whole.fit.hyperparameters;
    sizes.wander > UNEVEN || sizes.largest_noise() > LOST_NOISE
}

/// The whole cable that these sweeps are most likely of, from a start of their own or from where the fit to all
/// sweeps stands: of a loaded sweep alone the search sees next to nothing. With the logarithm of its evidence by
/// [`ln_evidence`].
pub(crate) fn whole(
    readings: &[Readings],
    known: Known,
    from: &Chosen,
    cancel: &AtomicBool,
) -> Option<(Chosen, f64)> {
    let points = points(from);
    let of_all = &from.fit.theta;
    let begin: Vec<(usize, f64)> = (0..PARAMETERS).map(|i| (i, of_all[i])).collect();
    let all = AllReadings {
        of_cable: readings,
        checks: &[],
        cancel,
    };
    let known_there = Known {
        delay_s: from.known.delay_s,
        ..known
    };
    let subset = DataSubset::resolved(&all, known_there);
    let there = fit_whole(&subset, known_there, &begin, MOST_WANDER, STEPS);
    let fits = [there, comparison::whole(&all, known)];
    let compared = fits.into_iter().flatten().filter_map(|fit| {
        let chosen = comparison::finish(fit, readings, Vec::new())?;
        let ln_evidence = ln_evidence(&chosen, points)?;
        Some((chosen, ln_evidence))
    });
    compared.max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Points of each reading set that evidence is compared on: two to a node of this explanation.
pub(crate) fn points(chosen: &Chosen) -> usize {
    FEW_POINTS.max(2 * chosen.fit.layout.nodes)
}

/// Logarithm of the evidence for an explanation by so many points of each of its reading sets, with the
/// hyperparameters learnt on them. Comparable where the points are the same. `None` as
/// [`Problem::learn_hyperparameters`].
pub(crate) fn ln_evidence(chosen: &Chosen, points: usize) -> Option<f64> {
    let few = |r: &Readings| thin(r, f64::INFINITY, points);
    let readings: Vec<Readings> = chosen.readings.iter().map(few).collect();
    let fit = &chosen.fit;
    let begin: Vec<(usize, f64)> = fit.theta.iter().copied().enumerate().collect();
    let (layout, hyperparameters) = (fit.layout.clone(), fit.hyperparameters.clone());
    let mut problem = Problem::new(&readings, layout, hyperparameters, chosen.known, &begin);
    problem.most_wander = most_wander(&chosen.causes);
    problem.minimise(MOST_STEPS);
    problem.learn_hyperparameters(FEW_ROUNDS)?;
    problem.log_evidence()
}

/// Whether the fit to all sweeps is no fit of one that this fit to part of them does fit: `of_part` has the numbers
/// of the part's sweeps.
pub(crate) fn misses(all: &Chosen, part: &Chosen, of_part: &[usize]) -> bool {
    let pairs = of_part.iter().zip(&part.fit.residual_rms);
    pairs.into_iter().any(|(&number, &of_part)| {
        let of_all = all.fit.residual_rms.get(number).copied();
        of_all.is_some_and(|rms| rms > LOST_NOISE && rms > LEAVES_FAR_MORE * of_part)
    })
}
