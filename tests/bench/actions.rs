//! How long every kind of tap takes on every instrument, without drawing: the slowest of each kind, and where.
//!
//! Run by `cargo bench --no-default-features --bench actions`. Each tap is done once in each state, as a player does.

#![allow(
    clippy::print_stdout,
    clippy::missing_panics_doc,
    missing_docs,
    reason = "a program for developers that prints a table"
)]

use std::time::{Duration, Instant};

use pegwise::app::{
    Action, ChordSet, GuideAction, InstrumentAction, KeyPlanAction, Labels, LookAction, NeckAction, OwnTuningAction,
    PickAction, RetuneAction, Screen, SettingsAction, ShapesAction, State, StringsTold, Tab, TuningsAction,
    TuningsView, list,
};
use pegwise::instrument::Catalog;
use pegwise::shapes::Style;
use pegwise::store::{Library, Temperament};

/// A kind of tap, how long the slowest took, on which instrument, and how many took longer than a frame.
struct Slowest {
    kind: &'static str,
    took: Duration,
    on: String,
    over_a_frame: usize,
    taps: usize,
}

/// One frame at 60 a second.
const FRAME: Duration = Duration::from_micros(16_700);

fn note(table: &mut Vec<Slowest>, kind: &'static str, on: &str, took: Duration) {
    let place = table.iter().position(|row| row.kind == kind).unwrap_or_else(|| {
        table.push(Slowest { kind, took: Duration::ZERO, on: String::new(), over_a_frame: 0, taps: 0 });
        table.len() - 1
    });
    let row = &mut table[place];
    row.taps += 1;
    row.over_a_frame += usize::from(took > FRAME);
    if took > row.took {
        (row.took, row.on) = (took, on.to_owned());
    }
}

/// The taps that are timed in each tuning: a kind, then the action.
fn taps() -> Vec<(&'static str, Action)> {
    let shapes = |action| Action::Shapes(action);
    let mut taps = vec![("open Shapes", Action::Tab(Tab::Shapes))];
    for set in [ChordSet::Triads, ChordSet::Sevenths, ChordSet::More] {
        taps.push(("chord set", shapes(ShapesAction::Set(set))));
        taps.extend((0..7).map(|index| ("chord of the row", shapes(ShapesAction::Chord(index)))));
    }
    for text in ["C", "Am7", "G13", "F#m7b5", "Bb6/9", "Dadd9", "E7#9", "C13/E"] {
        taps.push(("type a chord", Action::Pick(PickAction::Typed(text.to_owned()))));
        taps.push(("take a chord", Action::Pick(PickAction::ChordTaken)));
        taps.push(("sounding", shapes(ShapesAction::Style(Style::Strummed))));
        for filter in [
            ShapesAction::OpenOnly,
            ShapesAction::MovableOnly,
            ShapesAction::NoBarre,
            ShapesAction::RootInBass,
            ShapesAction::ThumbMayFret,
            ShapesAction::UpToBy(-6),
        ] {
            taps.push(("filter", shapes(filter)));
        }
        taps.push(("filter", shapes(ShapesAction::ClearFilters)));
        taps.push(("sounding", shapes(ShapesAction::Style(Style::Picked))));
    }
    taps.push(("labels", shapes(ShapesAction::Labels(Labels::Note))));
    taps.push(("key", Action::Pick(PickAction::KeyRoot(4))));
    taps.push(("key", Action::Pick(PickAction::KeyMode(5))));
    taps.push(("plan of the key", Action::Open(Screen::KeyPlan)));
    taps.push(("typed plan", Action::KeyPlan(KeyPlanAction::Typed("C Am7 F G7 Em7 A7 Dm7 G13".to_owned()))));
    taps.push(("typed plan", Action::KeyPlan(KeyPlanAction::Typed(String::new()))));
    taps.push(("open the neck", Action::Open(Screen::Neck)));
    taps.extend((0..3).map(|course| ("neck place", Action::Neck(NeckAction::Cell { fret: 2, course }))));
    taps.push(("shapes like it", Action::Neck(NeckAction::ToShapes)));
    taps.push(("capo", Action::Instrument(InstrumentAction::CapoBy(2))));
    taps.push(("capo", Action::Instrument(InstrumentAction::CapoBy(-2))));
    taps.push(("pure tuning", Action::Settings(SettingsAction::Temperament(Temperament::KeyShapes))));
    taps.push(("pure tuning", Action::Settings(SettingsAction::Temperament(Temperament::Equal))));
    taps.push(("reference", Action::Settings(SettingsAction::ReferenceBy(1))));
    taps.push(("first steps again", Action::Guide(GuideAction::Again)));
    taps.push(("own tuning", Action::OwnTuning(OwnTuningAction::New)));
    taps.push(("own tuning", Action::OwnTuning(OwnTuningAction::Move(0, -1))));
    taps.push(("own tuning", Action::OwnTuning(OwnTuningAction::Cancel)));
    taps
}

fn timed(state: &mut State, action: Action) -> Duration {
    let start = Instant::now();
    state.update(action);
    start.elapsed()
}

fn main() {
    let catalog = Catalog::bundled();
    let mut table = Vec::new();
    for instrument in catalog.instruments() {
        let mut state = State::new(Library::default());
        let on = format!("{} ({} courses)", instrument.id(), instrument.courses().len());
        let take = Action::Instrument(InstrumentAction::Instrument(instrument.id().to_owned()));
        note(&mut table, "take the instrument", &on, timed(&mut state, take));
        let start = Instant::now();
        let _ = State::new(state.library.clone());
        note(&mut table, "start the app", &on, start.elapsed());
        let tunings = catalog.tunings_for(instrument);
        let own = tunings.iter().filter(|tuning| tuning.instrument_id() == instrument.id()).take(4);
        for tuning in own.map(|tuning| tuning.id().to_owned()).collect::<Vec<_>>() {
            let choose = Action::Tunings(TuningsAction::Choose(tuning.clone()));
            note(&mut table, "choose a tuning", &on, timed(&mut state, choose));
            state.update(Action::Retune(RetuneAction::StringsAre(StringsTold::Noted)));
            state.update(Action::Retune(RetuneAction::TakeRisk));
            for _ in 0..instrument.courses().len() {
                let confirmed = timed(&mut state, Action::Retune(RetuneAction::Confirm));
                note(&mut table, "confirm a step", &on, confirmed);
            }
            state.update(Action::Retune(RetuneAction::CheckDone));
            for (kind, tap) in taps() {
                let what = format!("{on}, {tuning}: {tap:?}");
                note(&mut table, kind, &what, timed(&mut state, tap));
            }
            let other = tunings.iter().rev().find(|other| other.id() != tuning).map(|other| other.id().to_owned());
            if let Some(other) = other {
                let look = Action::Tunings(TuningsAction::Look(other));
                note(&mut table, "look at another", &on, timed(&mut state, look));
                note(&mut table, "look back", &on, timed(&mut state, Action::Look(LookAction::Back)));
            }
            let scale = |text: &str| Action::Instrument(InstrumentAction::ScaleTyped(text.to_owned()));
            note(&mut table, "scale length", &on, timed(&mut state, scale("400")));
            note(&mut table, "scale length", &on, timed(&mut state, scale("")));
            note(&mut table, "doubt a string", &on, timed(&mut state, Action::Retune(RetuneAction::Doubt(1))));
            for view in [TuningsView::Lately, TuningsView::Nearest, TuningsView::Kinds] {
                state.update(Action::Tunings(TuningsAction::View(view)));
                let start = Instant::now();
                let _ = list(&state);
                note(&mut table, "list of tunings", &on, start.elapsed());
            }
            for text in ["d", "open", "dgdgbe", "DADGADDADGAD"] {
                state.update(Action::Tunings(TuningsAction::Search(text.to_owned())));
                let start = Instant::now();
                let _ = list(&state);
                note(&mut table, "search", &on, start.elapsed());
            }
            state.update(Action::Tunings(TuningsAction::Search(String::new())));
        }
    }
    table.sort_by_key(|row| std::cmp::Reverse(row.took));
    println!("{:<22} {:>10}  {:>5} of {:<6} where the slowest was", "kind of tap", "slowest", "late", "taps");
    for row in table {
        let milliseconds = row.took.as_secs_f64() * 1000.0;
        println!("{:<22} {milliseconds:>7.2} ms  {:>5} of {:<6} {}", row.kind, row.over_a_frame, row.taps, row.on);
    }
}
