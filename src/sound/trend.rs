//! Where a note is going: a straight line through the latest of its readings.

use super::samples::real;

/// How far back readings are compared for the odd one out, in seconds.
const COMPARED_S: f64 = 0.09;
/// How far back readings are kept, in seconds.
const KEPT_S: f64 = 1.0;
/// The least deviation a reading is weighed with, in cents: closer than this no string keeps to a line.
const LEAST_DEVIATION: f64 = 0.015;

/// One reading of the note.
#[derive(Clone, Copy, Debug)]
struct Point {
    /// When it was read, in seconds.
    at_s: f64,
    /// The middle of the sound that it rests on, in seconds.
    middle_s: f64,
    off: f64,
    deviation: f64,
}

/// The line through some readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Cents a second, positive up.
    pub(super) slope: f64,
    /// The standard deviation of `slope` that the readings' own deviations cause, in cents a second.
    pub(super) slope_deviation: f64,
    /// How long the readings span, from first to last, in seconds.
    pub(super) span_s: f64,
}

/// The readings of one note, odd ones left out.
#[derive(Clone, Debug, Default)]
pub(super) struct Trend {
    raw: Vec<Point>,
    points: Vec<Point>,
}

impl Trend {
    pub(super) fn clear(&mut self) {
        self.raw.clear();
        self.points.clear();
    }

    /// Takes a reading `off` cents from the target over `window_s` seconds of sound, give or take `deviation`; returns
    /// the middle one of the latest and how long ago the middle of its sound was, in seconds.
    pub(super) fn push(&mut self, at_s: f64, window_s: f64, off: f64, deviation: f64) -> (f64, f64) {
        self.raw.retain(|point| at_s - point.at_s <= COMPARED_S);
        self.points.retain(|point| at_s - point.at_s <= KEPT_S);
        let deviation = deviation.abs().max(LEAST_DEVIATION);
        self.raw.push(Point { at_s, middle_s: at_s - 0.5 * window_s, off, deviation });
        let mut sorted = self.raw.clone();
        sorted.sort_by(|one, other| one.off.total_cmp(&other.off));
        let middle = sorted[sorted.len() / 2];
        self.points.push(Point { at_s, ..middle });
        (middle.off, at_s - middle.middle_s)
    }

    /// Returns the line through the readings of the last `over_s` seconds, by least squares weighed with their
    /// deviations; `None` for fewer than three or where all rest on the same sound.
    pub(super) fn line(&self, over_s: f64) -> Option<Line> {
        let now_s = self.points.last()?.at_s;
        let taken = || self.points.iter().filter(|point| now_s - point.at_s <= over_s + 1e-9);
        let count = taken().count();
        let first_s = taken().next()?.at_s;
        if count < 3 {
            return None;
        }
        let (mut s, mut sx, mut sy, mut sxx, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for point in taken() {
            let (x, weight) = (point.middle_s - now_s, point.deviation.powi(-2));
            s += weight;
            sx += weight * x;
            sy += weight * point.off;
            sxx += weight * x * x;
            sxy += weight * x * point.off;
        }
        let determinant = s * sxx - sx * sx;
        if determinant <= 1e-6 * s * s {
            return None;
        }
        // Windows overlap: of 50 readings a second about five a second are independent.
        let shared = (real(count) / (1.0 + 5.0 * (now_s - first_s))).max(1.0);
        Some(Line {
            slope: (s * sxy - sx * sy) / determinant,
            slope_deviation: (shared * s / determinant).sqrt(),
            span_s: now_s - first_s,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slope_of_a_steady_turn_is_found_and_one_odd_reading_does_not_bend_it() {
        let mut trend = Trend::default();
        for n in 0..30_u8 {
            let at_s = 0.02 * f64::from(n);
            let odd = if n == 20 { 40.0 } else { 0.0 };
            let (middle, ago_s) = trend.push(at_s, 0.2, 10.0 * (at_s - 0.1) + odd, 0.1);
            assert!((middle + 10.0 * ago_s - 10.0 * at_s).abs() < 0.41, "{at_s}: {middle}");
        }
        let line = trend.line(0.4).unwrap();
        assert!((line.slope - 10.0).abs() < 0.3 && line.slope_deviation < 1.0, "{line:?}");
        assert!((line.span_s - 0.4).abs() < 1e-9);
    }

    #[test]
    fn two_readings_make_no_line() {
        let mut trend = Trend::default();
        trend.push(0.0, 0.1, 1.0, 0.1);
        trend.push(0.02, 0.1, 2.0, 0.1);
        assert_eq!(trend.line(0.5), None);
    }
}
