//! Listwise logistic regression: weights under which the right answer of each list costs least.

/// Some answers, each with the amounts of its costs.
pub(crate) struct List<const N: usize> {
    /// The right answers; any of them serves. None when none is among them: counted as missed, not fitted on.
    pub(crate) right: Vec<usize>,
    pub(crate) amounts: Vec<[f64; N]>,
    pub(crate) is_fitted_on: bool,
    /// How many lists it counts as in the fit.
    pub(crate) counts: f64,
}

/// The least and the greatest a weight may become.
#[derive(Clone, Copy)]
pub(crate) struct Bounds {
    pub(crate) least: f64,
    pub(crate) greatest: f64,
}

impl Bounds {
    /// Not below zero.
    pub(crate) const FREE: Self = Self { least: 0.0, greatest: f64::INFINITY };
}

/// How many steps are taken.
const STEPS: u32 = 600;

/// Finds weights within their bounds that make the right answers of the lists fitted on most probable when an answer of
/// cost c has the odds exp(−c): gradient steps with each weight's own size (Kingma and Ba, "Adam", ICLR 2015), from
/// `start`, pulled back towards it a little.
pub(crate) fn fit<const N: usize>(lists: &[&List<N>], start: &[f64; N], bounds: &[Bounds; N]) -> [f64; N] {
    let lists: Vec<&List<N>> =
        lists.iter().copied().filter(|list| list.is_fitted_on && !list.right.is_empty()).collect();
    let mut weights = *start;
    let (mut mean, mut square) = ([0.0; N], [0.0; N]);
    let pull = 1e-4 * f64::from(u32::try_from(lists.len()).unwrap_or(u32::MAX));
    for step in 1..=STEPS {
        let mut slope = [0.0; N];
        for place in 0..N {
            slope[place] = pull * (weights[place] - start[place]);
        }
        for list in &lists {
            add_slope(list, &weights, &mut slope);
        }
        let size = 0.1 * (1.0 - f64::from(step) / f64::from(STEPS + 1));
        let settled = f64::from(step);
        for place in 0..N {
            mean[place] = 0.9 * mean[place] + 0.1 * slope[place];
            square[place] = 0.99 * square[place] + 0.01 * slope[place] * slope[place];
            let (mean, square) =
                (mean[place] / (1.0 - 0.9_f64.powf(settled)), square[place] / (1.0 - 0.99_f64.powf(settled)));
            let Bounds { least, greatest } = bounds[place];
            weights[place] = (weights[place] - size * mean / (square.sqrt() + 1e-9)).clamp(least, greatest);
        }
    }
    weights
}

/// Turns to what counts: one weight after the other takes the value, of a few around its own, under which most right
/// answers of the lists fitted on come first; a change must gain a list. At most `rounds` times through all weights.
pub(crate) fn sharpen<const N: usize>(lists: &[List<N>], weights: &[f64; N], rounds: usize) -> [f64; N] {
    let lists: Vec<&List<N>> = lists.iter().filter(|list| list.is_fitted_on).collect();
    let mut best = *weights;
    let mut most = share_first(&lists, &best, 1);
    for _ in 0..rounds {
        let before = most;
        for place in 0..N {
            let own = best[place];
            for value in [0.0, own * 0.5, own * 0.8, own * 1.25, own * 2.0, own + 0.1, own + 0.5, own + 1.5] {
                let mut tried = best;
                tried[place] = value;
                let share = share_first(&lists, &tried, 1);
                if share > most {
                    (best, most) = (tried, share);
                }
            }
        }
        if most <= before {
            break;
        }
    }
    best
}

/// Adds the slope of −ln p(any right answer) of one list: the mean amounts of the right answers less the mean of all, each
/// answer counting by its odds.
fn add_slope<const N: usize>(list: &List<N>, weights: &[f64; N], slope: &mut [f64; N]) {
    let costs: Vec<f64> = list.amounts.iter().map(|amounts| cost(amounts, weights)).collect();
    let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let odds: Vec<f64> = costs.iter().map(|cost| (least - cost).exp()).collect();
    let total: f64 = odds.iter().sum();
    // The least right answer may be far from the least of all, where its odds vanish.
    let least_right = list.right.iter().map(|&right| costs[right]).fold(f64::INFINITY, f64::min);
    let odds_right: Vec<f64> = list.right.iter().map(|&right| (least_right - costs[right]).exp()).collect();
    let total_right: f64 = odds_right.iter().sum();
    for (&right, odds) in list.right.iter().zip(odds_right) {
        for (slope, amount) in slope.iter_mut().zip(&list.amounts[right]) {
            *slope += list.counts * odds / total_right * amount;
        }
    }
    for (amounts, odds) in list.amounts.iter().zip(odds) {
        for (slope, amount) in slope.iter_mut().zip(amounts) {
            *slope -= list.counts * odds / total * amount;
        }
    }
}

fn cost<const N: usize>(amounts: &[f64; N], weights: &[f64; N]) -> f64 {
    amounts.iter().zip(weights).map(|(amount, weight)| amount * weight).sum()
}

/// Returns the share of the lists a right answer of which is among the `count` of least cost; one that costs the same and
/// stands before it counts as before it.
pub(crate) fn share_first<const N: usize>(lists: &[&List<N>], weights: &[f64; N], count: usize) -> f64 {
    let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    number(hits(lists, weights, count)) / number(lists.len().max(1))
}

/// Counts the lists a right answer of which is among the `count` of least cost; see [`share_first`].
pub(crate) fn hits<const N: usize>(lists: &[&List<N>], weights: &[f64; N], count: usize) -> usize {
    let is_among = |list: &&&List<N>| {
        let costs: Vec<f64> = list.amounts.iter().map(|amounts| cost(amounts, weights)).collect();
        let best = list.right.iter().copied().min_by(|&one, &other| costs[one].total_cmp(&costs[other]));
        best.is_some_and(|right| {
            let own = costs[right];
            let is_before =
                |&(place, &other): &(usize, &f64)| other < own - 1e-12 || (other <= own + 1e-12 && place < right);
            costs.iter().enumerate().filter(is_before).take(count).count() < count
        })
    };
    lists.iter().filter(is_among).count()
}
