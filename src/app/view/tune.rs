//! The tune of a song as tab, and how it is heard and played.

use std::sync::Arc;

use slint::{Model, ModelNotify, ModelRc, ModelTracker};

use crate::app::song::tuning_name;
use crate::app::{
    Letters, State, TabLook, TabPage, TabRoom, TabWords, TunePlaying, TuneTrouble, Voices, Worked, line, tune_song, ui,
};
use crate::arrange::{ArrangeFault, Fullness, Goal, LeftOutKind, Pinned, Remedy, ThumbStyle, Why};
use crate::instrument::{Catalog, Fret, Fretboard};
use crate::songs::Song;
use crate::tune::{Quarters, TuneFault};

use super::custom::Custom;
use super::{count, rows};

/// How many places that are not as wished are told.
const MOST_LOST: usize = 20;

/// What the tab that is shown depends on, besides its room.
#[derive(Clone, PartialEq)]
pub(in crate::app) struct TabKey {
    worked: u64,
    is_thick_on_top: bool,
    custom: Custom,
    decided: Vec<(Quarters, bool)>,
}

/// The tab that is shown: its lines are drawn when they come in sight.
pub(in crate::app) struct ShownTab {
    page: TabPage,
    worked: Arc<Worked>,
    custom: Custom,
    decided: Vec<(Quarters, bool)>,
    notify: ModelNotify,
}

impl ShownTab {
    /// Returns how it is laid out.
    pub(in crate::app) const fn page(&self) -> &TabPage {
        &self.page
    }

    /// Returns it with its height, as it is drawn.
    pub(in crate::app) fn view(self: &std::rc::Rc<Self>) -> ui::TabView {
        ui::TabView {
            systems: ModelRc::from(std::rc::Rc::clone(self)),
            system_height: self.page.system_height(),
            bar_height: self.page.piece_height(),
        }
    }

    /// Returns where a slice stands.
    pub(in crate::app) fn cursor(&self, slice: usize) -> ui::TabCursor {
        let (system, x, width) = self.page.place_of(slice).unwrap_or_default();
        ui::TabCursor { system: count(system), x, width }
    }

    fn words<R>(&self, with: impl FnOnce(&TabWords<'_>) -> R) -> R {
        in_words(self.custom, &self.worked, with)
    }
}

fn in_words<R>(custom: Custom, worked: &Worked, with: impl FnOnce(&TabWords<'_>) -> R) -> R {
    let instrument = worked.question.instrument;
    let chord = |chord| custom.chord(chord);
    let fret = |fret: Fret| instrument.fret_name(fret);
    with(&TabWords { chord: &chord, fret: &fret })
}

impl Model for ShownTab {
    type Data = ui::TabSystem;

    fn row_count(&self) -> usize {
        self.page.systems.len()
    }

    fn row_data(&self, index: usize) -> Option<ui::TabSystem> {
        let system = self.page.systems.get(index)?;
        let names = if index == 0 { self.page.string_names() } else { Vec::new() };
        let slices = &self.worked.arrangement.slices;
        let decided = |slice: usize| {
            let at = slices.get(slice).map(|slice| slice.at);
            let is = |of_melody| self.decided.iter().any(|pin| Some(pin.0) == at && pin.1 == of_melody);
            (is(true), is(false))
        };
        let bars = system.pieces.iter().enumerate().map(|(number, piece)| {
            let drawn = self.words(|words| self.page.draw(&self.worked.arrangement, (index, number), words, &decided));
            let chords: Vec<&str> = drawn.chords.iter().map(|chord| chord.text.as_str()).collect();
            let (bar, beat) = self.worked.question.played.bar_and_beat(slices[piece.slices.start].at);
            ui::TabBar {
                x: piece.x,
                width: piece.width,
                number: bar.to_string().into(),
                beat: beat_text(beat).into(),
                chords_text: chords.join(", ").into(),
                frets: letters(&drawn.frets),
                chords: letters(&drawn.chords),
                shapes: letters(&drawn.shapes),
                fingers: letters(&drawn.fingers),
                lines: drawn.lines.into(),
                stems: drawn.stems.into(),
                thumb_stems: drawn.thumb_stems.into(),
                wedges: drawn.wedges.into(),
                lost: drawn.lost.into(),
                decided: drawn.decided.into(),
            }
        });
        Some(ui::TabSystem { bars: rows(bars), names: letters(&names) })
    }

    fn model_tracker(&self) -> &dyn ModelTracker {
        &self.notify
    }
}

fn letters(all: &[Letters]) -> ModelRc<ui::TabLetters> {
    rows(all.iter().map(|one| ui::TabLetters { x: one.x, y: one.y, text: one.text.as_str().into() }))
}

/// Writes a beat as players count: "2", or "2 1/2".
pub(super) fn beat_text(beat: Quarters) -> String {
    let whole = beat.whole_steps(Quarters::ONE);
    let rest = beat - Quarters::ONE.times(whole, 1).unwrap_or_default();
    if rest == Quarters::ZERO { whole.to_string() } else { format!("{whole} {rest}") }
}

/// Returns what the tab depends on; `None` where there is none.
pub(in crate::app) fn tab_key(state: &State) -> Option<TabKey> {
    let worked = state.tune.worked.as_ref()?;
    let courses = worked.question.instrument.courses().len();
    let song = tune_song(state).filter(|_| state.tune.other.is_none());
    let pins = song.and_then(|song| song.tune.as_ref()).map(|tune| tune.pins(courses)).unwrap_or_default();
    let decided = pins.iter().filter_map(|pin| match pin.what {
        Pinned::Melody(_) | Pinned::MelodyFinger(_) => Some((pin.at, true)),
        Pinned::Bass(_) | Pinned::BassFinger(_) => Some((pin.at, false)),
        Pinned::NoBass | Pinned::Shape { .. } => None,
    });
    Some(TabKey {
        worked: worked.number,
        is_thick_on_top: state.library.settings.stage.tab_thick_on_top,
        custom: Custom::of(state),
        decided: decided.collect(),
    })
}

/// Lays the tab out for a room.
pub(in crate::app) fn lay_out(state: &State, room: TabRoom) -> Option<ShownTab> {
    let key = tab_key(state)?;
    let worked = state.tune.worked.as_ref()?;
    let question = &worked.question;
    let look = TabLook {
        room,
        courses: question.instrument.courses().len(),
        is_thick_on_top: key.is_thick_on_top,
        names: key.custom.tuning(&question.tuning.spelled()),
    };
    let page = in_words(key.custom, worked, |words| TabPage::new(&worked.arrangement, look, words));
    Some(ShownTab {
        page,
        worked: Arc::clone(worked),
        custom: key.custom,
        decided: key.decided,
        notify: ModelNotify::default(),
    })
}

/// Fills what the screens of a tune share; `tab` tells one tab from the next.
pub(in crate::app) fn show_tune(state: &State, tab: i32, to: &ui::TuneState<'_>) {
    let Some(song) = tune_song(state) else { return };
    let tune = &state.tune;
    to.set_title(line(&song.title).into());
    to.set_has_tune(song.tune.is_some());
    to.set_has_tab(tune.worked.is_some());
    to.set_tab(tab);
    to.set_selected(count(tune.selected().map_or(0, |(index, _)| index)));
    to.set_working(tune.asking.is_some());
    to.set_stopped(tune.is_stopped);
    to.set_trouble(tune.trouble.as_ref().map(trouble_view).unwrap_or_default());
    to.set_can_undo(tune.can_undo());
    to.set_decided(song.tune.as_ref().is_some_and(crate::songs::SongTune::is_decided));
    let place = tune.worked.as_ref().zip(tune.selected()).map(|(worked, (index, slices))| {
        let (bar, beat) = worked.question.played.bar_and_beat(slices[index].at);
        (bar.to_string(), beat_text(beat), index == 0, index + 1 == slices.len())
    });
    let (bar, beat, at_start, at_end) = place.unwrap_or_default();
    to.set_bar(bar.into());
    to.set_beat(beat.into());
    to.set_at_start(at_start);
    to.set_at_end(at_end);
    show_lost(state, to);
    show_choices(state, song, to);
    show_hearing(state, to);
}

fn show_lost(state: &State, to: &ui::TuneState<'_>) {
    let arrangement = state.tune.worked.as_ref().map(|worked| &worked.arrangement);
    to.set_chords_found(arrangement.is_some_and(|arrangement| arrangement.are_chords_found));
    // What the player wanted so is not missed.
    let lost: Vec<_> = arrangement
        .map(|arrangement| arrangement.left_out.iter().filter(|left| left.why != Why::Wanted).collect())
        .unwrap_or_default();
    to.set_lost_count(count(lost.len()));
    let custom = Custom::of(state);
    to.set_lost(rows(lost.iter().take(MOST_LOST).map(|left| {
        let (kind, note) = match left.what {
            LeftOutKind::Melody(pitch) => (ui::LostKind::Melody, custom.pitch(pitch)),
            LeftOutKind::Bass => (ui::LostKind::Bass, String::new()),
            LeftOutKind::Root => (ui::LostKind::Root, String::new()),
        };
        let (remedy, by) = match left.why {
            Why::BeyondNeck(Remedy::Octaves(by)) => (ui::RemedyKind::Octaves, by),
            Why::BeyondNeck(Remedy::Key(by)) => (ui::RemedyKind::Key, by),
            Why::BeyondNeck(Remedy::NoCapo) => (ui::RemedyKind::NoCapo, 0),
            Why::BeyondNeck(Remedy::OtherTuning) => (ui::RemedyKind::OtherTuning, 0),
            Why::NothingBelow => (ui::RemedyKind::NothingBelow, 0),
            Why::OutOfReach => (ui::RemedyKind::OutOfReach, 0),
            Why::Wanted => (ui::RemedyKind::Wanted, 0),
        };
        ui::LostView {
            kind,
            note: note.into(),
            bar: left.bar.to_string().into(),
            beat: beat_text(left.beat).into(),
            remedy,
            by: by.abs().into(),
            up: by > 0,
        }
    })));
}

fn show_choices(state: &State, song: &Song, to: &ui::TuneState<'_>) {
    let tune = song.tune.clone().unwrap_or_default();
    to.set_style(match tune.style {
        ThumbStyle::Alternating => ui::ThumbStyle::Alternating,
        ThumbStyle::Steady => ui::ThumbStyle::Steady,
        ThumbStyle::OnChanges => ui::ThumbStyle::OnChanges,
        ThumbStyle::MelodyAlone => ui::ThumbStyle::MelodyAlone,
    });
    to.set_fullness(match tune.fullness {
        Fullness::Plain => ui::TuneFullness::Plain,
        Fullness::Pinches => ui::TuneFullness::Pinches,
        Fullness::Inner => ui::TuneFullness::Inner,
    });
    to.set_evenly_easy(tune.goal == Goal::LeastHardest);
    let found = state.tune.worked.as_ref().map_or(0, |worked| worked.arrangement.transpose.get());
    let by = tune.transpose.unwrap_or(found);
    let text = if by > 0 { format!("+{by}") } else { by.to_string().replace('-', "−") };
    to.set_transpose(text.into());
    to.set_any_key(tune.transpose.is_none());
    to.set_thick_on_top(state.library.settings.stage.tab_thick_on_top);
    to.set_capo(song.capo.get().to_string().into());
    to.set_tuning(tuning_name(state, song).into());
    let looked = state.tune.other.as_ref();
    let instrument = Catalog::bundled().find_instrument(&song.instrument_id).unwrap_or_else(|| state.instrument());
    let name = |looked: &crate::app::OtherTuning| {
        line(&state.name_or_notes(instrument, looked.tuning.id.as_deref(), &looked.tuning.pitches))
    };
    to.set_looked_at(looked.map(name).unwrap_or_default().into());
    let capo = looked.map(|looked| looked.capo).filter(|capo| *capo != Fret::OPEN);
    to.set_looked_capo(capo.map(|capo| capo.get().to_string()).unwrap_or_default().into());
}

fn show_hearing(state: &State, to: &ui::TuneState<'_>) {
    let hearing = &state.tune.hearing;
    to.set_playing(hearing.playing.is_some());
    let counted = hearing.playing.map_or(0, |TunePlaying { counted, .. }| counted);
    to.set_count_in(if counted > 0 { counted.to_string() } else { String::new() }.into());
    to.set_percent(hearing.percent.to_string().into());
    to.set_voices(match hearing.voices {
        Voices::Both => ui::TuneVoices::Both,
        Voices::MelodyLouder => ui::TuneVoices::MelodyLouder,
        Voices::ThumbLouder => ui::TuneVoices::ThumbLouder,
        Voices::MelodyAlone => ui::TuneVoices::MelodyAlone,
        Voices::ThumbAlone => ui::TuneVoices::ThumbAlone,
    });
    to.set_loops(hearing.is_loop);
    let bars = state.tune.worked.as_ref().map(|worked| worked.question.played.bars.as_slice()).unwrap_or_default();
    let number = |bar: usize| bars.get(bar.min(bars.len().saturating_sub(1))).map_or(0, |bar| bar.number).to_string();
    to.set_loop_from(number(hearing.bars.0).into());
    to.set_loop_to(number(hearing.bars.1).into());
    to.set_counts_in(hearing.counts_in);
    to.set_mute(state.ears.muted.is_some());
}

fn trouble_view(trouble: &TuneTrouble) -> ui::TuneFaultView {
    let plain = |kind| ui::TuneFaultView { kind, ..ui::TuneFaultView::default() };
    match trouble {
        TuneTrouble::Text(fault) | TuneTrouble::Arrange(ArrangeFault::Tune(fault)) => tune_fault_view(Some(fault)),
        TuneTrouble::Arrange(ArrangeFault::NoNotes | ArrangeFault::Stopped) => plain(ui::TuneTrouble::NoNotes),
        TuneTrouble::Arrange(ArrangeFault::TooLong { .. }) => plain(ui::TuneTrouble::TooLong),
        TuneTrouble::Arrange(ArrangeFault::NotOnNeck(_)) => plain(ui::TuneTrouble::NotOnNeck),
        TuneTrouble::Arrange(ArrangeFault::Pin { bar, beat }) => ui::TuneFaultView {
            kind: ui::TuneTrouble::Pin,
            line: bar.to_string().into(),
            place: beat_text(*beat).into(),
            ..ui::TuneFaultView::default()
        },
    }
}

/// Says what is wrong with a text.
pub(super) fn tune_fault_view(fault: Option<&TuneFault>) -> ui::TuneFaultView {
    let plain = |kind| ui::TuneFaultView { kind, ..ui::TuneFaultView::default() };
    match fault {
        None => ui::TuneFaultView::default(),
        Some(TuneFault::At { line, column, found, expected }) => ui::TuneFaultView {
            kind: ui::TuneTrouble::Text,
            line: line.to_string().into(),
            place: column.to_string().into(),
            found: found.as_str().into(),
            expected: expected_view(expected),
        },
        Some(TuneFault::Xml { line, .. }) => ui::TuneFaultView {
            kind: ui::TuneTrouble::Xml,
            line: line.to_string().into(),
            ..ui::TuneFaultView::default()
        },
        Some(TuneFault::NoTune | TuneFault::NoSuchNumber(_)) => plain(ui::TuneTrouble::NoTune),
        Some(TuneFault::TooLarge { .. }) => plain(ui::TuneTrouble::TooLarge),
        Some(TuneFault::NotText) => plain(ui::TuneTrouble::NotText),
        Some(TuneFault::Packed(_)) => plain(ui::TuneTrouble::Packed),
    }
}

/// The kinds of things that are expected, by the words the readers say them in.
fn expected_view(expected: &str) -> ui::TuneExpected {
    use ui::TuneExpected as Kind;
    let has = |part: &str| expected.contains(part);
    let kinds = [
        ("a note, a rest", Kind::ANote),
        ("length above zero", Kind::ALength),
        ("note length", Kind::ALength),
        ("] after notes at once", Kind::ATieOrBracket),
        ("a bar line after", Kind::ABarLine),
        ("a field such as", Kind::AField),
        ("a key such as", Kind::AKey),
        ("a letter from A", Kind::ALetter),
        ("a metre", Kind::AMetre),
        ("a note before", Kind::ANoteBefore),
        ("long enough to be broken", Kind::ALongerNote),
        ("at most", Kind::FewerSigns),
        ("a pitch", Kind::APitch),
        ("a tuplet", Kind::ATuplet),
        ("bars of rest", Kind::BarsOfRest),
        ("] after the field", Kind::ABracket),
        ("} after the grace", Kind::ABrace),
        ("quote", Kind::AQuote),
        ("score in parts", Kind::Parts),
    ];
    kinds.into_iter().find(|(part, _)| has(part)).map_or(Kind::Other, |(_, kind)| kind)
}

/// Returns the neck that a tune lies on now.
pub(super) fn tune_board(state: &State) -> Option<Fretboard<'static>> {
    let worked = state.tune.worked.as_ref()?;
    let question = &worked.question;
    let board = Fretboard::new(question.instrument, &question.tuning, worked.arrangement.capo).ok()?;
    Some(board.over_mm(question.wishes.scale_mm))
}
