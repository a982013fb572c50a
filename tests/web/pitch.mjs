// How high a tone is, to a hundredth of a cent.

/// The phase of the tone of `hertz` in `length` samples from `from` on, against one that begins with the first sample.
function phase(samples, rate, hertz, from, length) {
    let [re, im] = [0, 0];
    for (let at = 0; at < length; at += 1) {
        const weight = 0.5 - 0.5 * Math.cos((2 * Math.PI * at) / length);
        const turn = (2 * Math.PI * hertz * (from + at)) / rate;
        re += weight * samples[from + at] * Math.cos(turn);
        im -= weight * samples[from + at] * Math.sin(turn);
    }
    return Math.atan2(im, re);
}

/// The frequency of a tone near `guess`: how far its phase turns between two windows of `length` samples, the first at `from`,
/// the second `apart` samples later.
export function frequency(samples, rate, guess, { from, length, apart }) {
    let turned = phase(samples, rate, guess, from + apart, length) - phase(samples, rate, guess, from, length);
    turned -= 2 * Math.PI * Math.round(turned / (2 * Math.PI));
    return guess + (turned * rate) / (2 * Math.PI * apart);
}
