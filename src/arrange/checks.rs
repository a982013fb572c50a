//! The search against other ways to find the same: every path, a general-purpose shortest path, and a hand that looks one
//! step ahead.

use std::fmt::Write;

use crate::instrument::{Catalog, Fret, Tuning};
use crate::theory::Semitones;
use crate::tune::{Played, read_abc};

use super::arrange::{Worked, work};
use super::arrangement::Figures;
use super::costs::ArrangeCosts;
use super::harmony::with_found_chords;
use super::keys::{KeyChoice, choices};
use super::search::{Path, Search, Steps};
use super::states::State;
use super::wishes::{Goal, Wishes};

const TUNINGS: [&str; 5] = ["E A D G B E", "D A D G A D", "D G D G B D", "D A D F# A D", "D A D G B E"];

/// Tunes of our own invention: six moments and fewer for every path, whole ones for the shortest path.
const SHORT: [&str; 4] = [
    "X:1\nM:2/4\nL:1/4\nK:G\n\"G\"G B|\"D7\"A F|\n",
    "X:2\nM:3/4\nL:1/4\nK:Am\n\"Am\"A2 c|\"E\"B- B e|\n",
    "X:3\nM:6/8\nL:1/8\nK:D\n\"D\"A3 d3|\"G\"B3 g3|\n",
    "X:4\nM:2/4\nL:1/8\nK:C\n\"C\"e g z2|\"F\"a2 f2|\n",
];
const WHOLE: [&str; 3] = [
    "X:1\nM:4/4\nL:1/8\nK:D\nA2|\"D\"d2 fd A2 d2|\"G\"B2 dB \"D\"A4|\"D\"d2 fd \"Bm\"B2 d2|\"A7\"c2 e2 A4|\n\
     \"D\"d2 fd A2 d2|\"G\"B2 g2 \"D\"f2 d2|\"Em\"e2 d2 \"A7\"c2 e2|\"D\"d6||\n",
    "X:2\nM:4/4\nL:1/8\nK:G\nDE|:\"G\"G2 BG dGBd|\"C\"e2 c2 \"G\"d4|\"Am\"cBAG \"D7\"F2 A2|1 \"G\"G4 z2 DE:|2 \"G\"G8|]\n",
    "X:3\nM:3/4\nL:1/4\nK:Am\n\"Am\"A B c|\"F\"c2 A|\"C\"G2 E|\"E7\"^G2 B|\"Am\"A3-|\"Am\"A2 z|\"Dm/F\"f d A|\"E\"e3|\"Am\"A3|]\n",
];

fn played(text: &str) -> Played {
    let read = read_abc(text).remove(0);
    let played = read.tune.played().unwrap();
    with_found_chords(&read.tune, played).0
}

fn tuning(text: &str) -> Tuning {
    let catalog = Catalog::bundled();
    catalog.resolve_tuning(catalog.guitar(), text).unwrap()
}

/// The costs that the kept numbers were found with.
fn kept() -> Wishes {
    Wishes { costs: ArrangeCosts { move_per_mm: 0.03, position: 0.06, ..ArrangeCosts::default() }, ..Wishes::default() }
}

/// Works a tune out an octave lower than written without a capo.
fn with<R>(text: &str, on: &str, wishes: &Wishes, take: &mut dyn FnMut(&Worked<'_>) -> R) -> R {
    let choice = KeyChoice { transpose: Semitones::new(-12), capo: Fret::OPEN, estimate: 0.0, strangeness: 0.0 };
    let guitar = Catalog::bundled().guitar();
    work(&played(text), guitar, &tuning(on), wishes, &choice, &mut |worked| Ok(take(worked))).unwrap()
}

fn search<'a>(worked: &'a Worked<'_>, lists: &'a [Vec<State>]) -> Search<'a> {
    let steps = Steps { costs: &worked.states.costs, reach: &worked.states.reach };
    let (layers, links) = (&worked.layers, &worked.links);
    Search { steps, lists, layers, links, allowed: &|_, _| true, should_stop: &|| false }
}

/// Goes every way there is, and returns the least sum and the least greatest step.
fn every_path(search: &Search<'_>) -> (f64, f64) {
    fn go(search: &Search<'_>, index: usize, last: Option<&State>, sum: f64, hardest: f64, best: &mut (f64, f64)) {
        let Some(&layer) = search.layers.get(index) else {
            *best = (best.0.min(sum), best.1.min(hardest));
            return;
        };
        for state in &search.lists[layer] {
            let step = match last {
                None => state.own,
                Some(last) if Steps::can_follow(last, state, search.links[index - 1]) => {
                    search.steps.cost(last, state, search.links[index - 1])
                }
                Some(_) => continue,
            };
            go(search, index + 1, Some(state), sum + step, hardest.max(step), best);
        }
    }
    let mut best = (f64::INFINITY, f64::INFINITY);
    go(search, 0, None, 0.0, 0.0, &mut best);
    best
}

#[test]
fn the_search_finds_what_going_every_way_finds() {
    let mut paths = 0;
    for text in SHORT {
        for on in TUNINGS {
            with(text, on, &Wishes::default(), &mut |worked| {
                let whole = search(worked, &worked.lists).find(Goal::LeastSum).unwrap();
                // Every path of all states would take years: of each list some, spread over it, and the best way's own.
                let lists: Vec<Vec<State>> = worked
                    .lists
                    .iter()
                    .enumerate()
                    .map(|(layer, list)| {
                        let own = (0..worked.layers.len()).filter(|&index| worked.layers[index] == layer);
                        let mut keep: Vec<usize> = own.map(|index| whole.choices[index]).collect();
                        keep.extend((0..list.len()).step_by((list.len() / 7).max(1)));
                        keep.sort_unstable();
                        keep.dedup();
                        keep.iter().map(|&index| list[index]).collect()
                    })
                    .collect();
                assert!(worked.layers.len() <= 6, "{text}");
                let search = search(worked, &lists);
                let (sum, hardest) = every_path(&search);
                let least = search.find(Goal::LeastSum).unwrap();
                let even = search.find(Goal::LeastHardest).unwrap();
                assert!((least.sum - sum).abs() < 1e-9, "{text} {on}: {} {sum}", least.sum);
                assert!((even.hardest - hardest).abs() < 1e-9, "{text} {on}: {} {hardest}", even.hardest);
                assert!((whole.sum - sum).abs() < 1e-9, "a smaller choice that keeps the best way has the same best");
                paths += 1;
            });
        }
    }
    assert_eq!(paths, SHORT.len() * TUNINGS.len());
}

/// What a hand finds that looks one step ahead: from where it is, the cheapest next.
fn greedy(worked: &Worked<'_>) -> Path {
    let search = search(worked, &worked.lists);
    let mut choices: Vec<usize> = Vec::new();
    for (index, &layer) in worked.layers.iter().enumerate() {
        let last = index.checked_sub(1).map(|last| (last, &worked.lists[worked.layers[last]][choices[last]]));
        let step = |state: &State| match last {
            None => Some(state.own),
            Some((link, before)) => Steps::can_follow(before, state, worked.links[link])
                .then(|| search.steps.cost(before, state, worked.links[link])),
        };
        let costs = worked.lists[layer].iter().enumerate().filter_map(|(at, state)| step(state).map(|cost| (at, cost)));
        choices.push(costs.min_by(|one, other| one.1.total_cmp(&other.1)).unwrap().0);
    }
    let costs = search.step_costs(&choices);
    Path { sum: costs.iter().sum(), hardest: costs.iter().copied().fold(0.0, f64::max), choices }
}

#[test]
fn looking_one_step_ahead_is_never_better() {
    for text in WHOLE {
        for on in TUNINGS {
            with(text, on, &Wishes::default(), &mut |worked| {
                let best = search(worked, &worked.lists).find(Goal::LeastSum).unwrap();
                let ahead = greedy(worked);
                assert!(best.sum <= ahead.sum + 1e-9, "{text} {on}: {} {}", best.sum, ahead.sum);
            });
        }
    }
}

/// The graphs of whole tunes for `tests/assets/tunes/shortest_path.py`, which finds the shortest path by networkx:
/// `PEGWISE_GRAPHS=DIR cargo test --no-default-features --lib graphs -- --ignored`.
#[test]
#[ignore = "writes large files for tests/assets/tunes/shortest_path.py"]
fn graphs_of_whole_tunes() {
    let folder = std::path::PathBuf::from(std::env::var("PEGWISE_GRAPHS").unwrap());
    for (number, text) in WHOLE.iter().enumerate() {
        for (place, on) in TUNINGS.iter().enumerate() {
            with(text, on, &kept(), &mut |worked| {
                let search = search(worked, &worked.lists);
                let mut lines = String::new();
                for (at, state) in worked.lists[worked.layers[0]].iter().enumerate() {
                    let _ = writeln!(lines, "start 0.{at} {}", state.own);
                }
                for (index, &link) in worked.links.iter().enumerate() {
                    let lists = [index, index + 1].map(|index| &worked.lists[worked.layers[index]]);
                    for (one, before) in lists[0].iter().enumerate() {
                        for (other, after) in lists[1].iter().enumerate() {
                            if Steps::can_follow(before, after, link) {
                                let cost = search.steps.cost(before, after, link);
                                let _ = writeln!(lines, "{index}.{one} {}.{other} {cost}", index + 1);
                            }
                        }
                    }
                }
                let last = worked.layers.len() - 1;
                for at in 0..worked.lists[worked.layers[last]].len() {
                    let _ = writeln!(lines, "{last}.{at} end 0");
                }
                std::fs::write(folder.join(format!("{number}.{place}.txt")), lines).unwrap();
            });
        }
    }
}

#[test]
fn whole_tunes_cost_what_a_general_shortest_path_costs() {
    // By networkx (BSD), over the graphs written by the test above: tune, tuning, cost.
    let rows = include_str!("../../tests/assets/tunes/shortest_path.csv").lines().filter(|line| !line.starts_with('#'));
    let mut checked = 0;
    for row in rows.skip(1) {
        let fields: Vec<&str> = row.split(',').collect();
        let (number, place): (usize, usize) = (fields[0].parse().unwrap(), fields[1].parse().unwrap());
        let expected: f64 = fields[2].parse().unwrap();
        let found = with(WHOLE[number], TUNINGS[place], &kept(), &mut |worked| {
            search(worked, &worked.lists).find(Goal::LeastSum).unwrap().sum
        });
        assert!((found - expected).abs() < 1e-6, "{row}: {found}");
        checked += 1;
    }
    assert_eq!(checked, WHOLE.len() * TUNINGS.len());
}

/// What a teacher counts, over many tunes, beside the hand that looks one step ahead:
/// `PEGWISE_TUNES=FILE.abc PEGWISE_EVERY=5 cargo test --no-default-features --lib teacher -- --ignored --nocapture`.
#[test]
#[ignore = "needs a file of tunes: see tests/FIGURES.md"]
#[expect(clippy::print_stdout, reason = "it says what it measured")]
fn what_a_teacher_counts_over_many_tunes() {
    let text = std::fs::read(std::env::var("PEGWISE_TUNES").unwrap()).unwrap();
    let every: usize = std::env::var("PEGWISE_EVERY").ok().and_then(|every| every.parse().ok()).unwrap_or(1);
    let tunes = crate::tune::read_tunes(&text).unwrap();
    let guitar = Catalog::bundled().guitar();
    let wishes = Wishes::default();
    let (mut count, mut lost, mut sums) = (0, 0, [Figures::default(); 2]);
    let (mut hardest, mut points, mut longest) = ([0.0_f64; 2], [0.0_f64; 2], 0.0_f64);
    for read in tunes.iter().step_by(every) {
        let Ok(played) = read.tune.played() else { continue };
        if played.notes.is_empty() || !played.chords.iter().any(|mark| mark.chord.is_some()) {
            continue;
        }
        for on in TUNINGS {
            let tuning = tuning(on);
            let choice = choices(&played, guitar, &tuning, &wishes).unwrap()[0];
            let started = std::time::Instant::now();
            work(&played, guitar, &tuning, &wishes, &choice, &mut |worked| {
                let best = search(worked, &worked.lists).find(Goal::LeastSum).unwrap();
                longest = longest.max(started.elapsed().as_secs_f64());
                for (way, path) in [best, greedy(worked)].iter().enumerate() {
                    let found = worked.written(path, false, &wishes);
                    add(&mut sums[way], &found.figures);
                    hardest[way] += path.hardest;
                    points[way] += path.sum;
                    let melody = |left: &&super::LeftOut| matches!(left.what, super::LeftOutKind::Melody(_));
                    lost += found.left_out.iter().filter(melody).count();
                }
                Ok(())
            })
            .unwrap();
            count += 1;
        }
    }
    println!("{count} arrangements, {lost} melody notes left out, the longest search {longest:.3} s");
    for (way, name) in ["searched", "one step ahead"].into_iter().enumerate() {
        let (sum, hardest, points) = (sums[way], hardest[way], points[way]);
        let share = |part: usize, whole: usize| 100.0 * number(part) / number(whole.max(1));
        println!(
            "{name}: bass on {:.2} % of {} beats; root on {:.2} % of {} changes, {:.2} % where in reach; {:.2} moves a \
             bar, {:.1} mm a bar, farthest {:.0} mm; {:.1} % open; hardest step {:.2} on \
             average; {:.2} points a bar",
            share(sum.beats_with_bass, sum.beats),
            sum.beats,
            share(sum.roots, sum.chord_changes),
            sum.chord_changes,
            share(sum.roots, sum.roots_in_reach),
            number(sum.moves) / number(sum.bars),
            sum.way_mm / number(sum.bars),
            sum.farthest_mm,
            share(sum.open_notes, sum.notes),
            hardest / number(count),
            points / number(sum.bars),
        );
    }
    assert_eq!(lost, 0, "no melody note is lost");
    assert!(sums[0].beats_with_bass * 100 >= sums[0].beats * 98);
    assert!(sums[0].roots * 100 >= sums[0].roots_in_reach * 95);
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap())
}

fn add(sum: &mut Figures, one: &Figures) {
    sum.beats += one.beats;
    sum.beats_with_bass += one.beats_with_bass;
    sum.chord_changes += one.chord_changes;
    sum.roots += one.roots;
    sum.roots_in_reach += one.roots_in_reach;
    sum.notes += one.notes;
    sum.open_notes += one.open_notes;
    sum.moves += one.moves;
    sum.way_mm += one.way_mm;
    sum.farthest_mm = sum.farthest_mm.max(one.farthest_mm);
    sum.bars += one.bars;
}
