//! What goes out and what comes in.

use crate::app::song::tuning_name;
use crate::app::song_edit::written;
use crate::app::{Field, State, cut, export_due, line, ui};
use crate::instrument::Fret;
use crate::songs::{ChosenTuning, ReadSong, Song, Understood};
use crate::store::{Decision, ImportItem, Incoming, Likeness};
use crate::theory::Naming;

use super::custom::Custom;
use super::song::fault_view;
use super::songs::days_ago;
use super::{count, rows};

/// So many places of a song that were not understood are told one by one.
const MOST_FAULTS: usize = 6;

/// So many characters of what goes out are shown; all of it goes to the clipboard.
const SHOWN: usize = 1_500;

/// Fills both pages. `can_write` tells whether there is a folder for files.
pub(in crate::app) fn show_exchange(state: &State, can_write: bool, to: &ui::ExchangeState<'_>) {
    let exchange = &state.exchange;
    if let Some(out) = &exchange.out {
        to.set_out_name(format!("{}.{}", out.name, out.ending).into());
        if to.get_out_text() != out.text.as_str() {
            to.set_out_text(out.text.as_str().into());
        }
        to.set_out_preview(out.text.chars().take(SHOWN).collect::<String>().into());
        to.set_out_whole(out.is_whole);
        to.set_out_longer(out.text.chars().nth(SHOWN).is_some());
        let (file, fault) = match &out.written {
            None => ("", ""),
            Some(Ok(file)) => (file.as_str(), ""),
            Some(Err(fault)) => ("", fault.as_str()),
        };
        to.set_out_file(file.into());
        to.set_out_fault(fault.into());
    }
    to.set_can_write(can_write);
    let due = export_due(state);
    to.set_due(due.is_some());
    to.set_days_ago(days_ago(due));
    // What is long is not drawn: nobody reads a library in a field.
    let is_long = cut(&exchange.pasted, Field::Lines).is_some();
    let shown = if is_long { "" } else { exchange.pasted.as_str() };
    if to.get_pasted() != shown {
        to.set_pasted(shown.into());
    }
    let letters = if is_long { exchange.pasted.chars().count().to_string() } else { String::new() };
    to.set_pasted_letters(letters.into());
    to.set_fault(exchange.fault.as_ref().map(ToString::to_string).unwrap_or_default().into());
    to.set_percent(exchange.reading.map_or(-1, percent));
    to.set_page(count(exchange.page));
    to.set_pages(count(exchange.pages()));
    let [new, differs, same] = exchange.counts().map(count);
    to.set_new(new);
    to.set_differs(differs);
    to.set_same(same);
    to.set_items(rows(exchange.shown().into_iter().map(|index| item_view(state, index, &exchange.items[index]))));
    to.set_has_items(exchange.incoming.is_some());
    let done = exchange.done.unwrap_or_default();
    to.set_done(exchange.done.is_some());
    to.set_added(count(done.added));
    to.set_replaced(count(done.replaced));
    to.set_places_lost(count(done.places_lost));
}

/// Whole hundredths.
#[expect(clippy::cast_possible_truncation, reason = "between 0 and 100")]
fn percent(share: f64) -> i32 {
    (share * 100.0).clamp(0.0, 100.0) as i32
}

fn item_view(state: &State, index: usize, item: &ImportItem) -> ui::ItemView {
    ui::ItemView {
        index: count(index),
        kind: match item.what {
            Incoming::Settings => ui::ItemKind::Settings,
            Incoming::OwnTuning(_) => ui::ItemKind::OwnTuning,
            Incoming::Song(_) => ui::ItemKind::Song,
            Incoming::SetList(_) => ui::ItemKind::SetList,
            Incoming::Favourites => ui::ItemKind::Favourites,
        },
        name: line(&item.name).into(),
        likeness: match item.likeness {
            Likeness::New => ui::ItemLikeness::New,
            Likeness::Same => ui::ItemLikeness::Same,
            Likeness::Differs => ui::ItemLikeness::Differs,
        },
        decision: match item.decision {
            Decision::Leave => ui::ItemDecision::Leave,
            Decision::Add => ui::ItemDecision::Add,
            Decision::Replace => ui::ItemDecision::Replace,
        },
        facts: rows(match item.what {
            Incoming::Song(index) => {
                state.exchange.read_songs.get(index).map_or_else(Vec::new, |read| facts(state, read))
            }
            _ => Vec::new(),
        }),
    }
}

/// Tells what was understood of a song that came as text.
fn facts(state: &State, read: &ReadSong) -> Vec<ui::FactView> {
    let is_fault = |item: &&Understood| matches!(item, Understood::Fault(_));
    let faults = read.understood.iter().filter(is_fault).count();
    let told = read.understood.iter().filter(|item| !is_fault(item));
    let told = told.chain(read.understood.iter().filter(is_fault).take(MOST_FAULTS));
    let mut found: Vec<ui::FactView> = told.map(|item| fact(state, &read.song, item)).collect();
    if faults > MOST_FAULTS {
        let count = count(faults - MOST_FAULTS);
        found.push(ui::FactView { kind: ui::FactKind::MoreFaults, count, ..ui::FactView::default() });
    }
    found
}

fn fact(state: &State, song: &Song, item: &Understood) -> ui::FactView {
    let said = |kind, text: String| ui::FactView { kind, text: line(&text).into(), ..ui::FactView::default() };
    let counted = |kind, number: usize| ui::FactView { kind, count: count(number), ..ui::FactView::default() };
    let tuning = |tuning: &ChosenTuning| {
        let of_it = Song::new("", song.instrument_id.as_str(), tuning.clone());
        let name = tuning_name(state, &of_it);
        let notes = Custom::of(state).tuning(&tuning.pitches.spelled()).join(" ");
        if name == notes { name } else { format!("{name}, {notes}") }
    };
    match item {
        Understood::Title(title) => said(ui::FactKind::Title, title.clone()),
        Understood::FirstWords(words) => said(ui::FactKind::FirstWords, words.clone()),
        Understood::From(from) => said(ui::FactKind::From, from.clone()),
        Understood::Tuning(chosen) => said(ui::FactKind::Tuning, tuning(chosen)),
        Understood::TuningOnGuitar(chosen) => said(ui::FactKind::TuningOnGuitar, tuning(chosen)),
        Understood::Capo(Fret::OPEN) => said(ui::FactKind::Capo, String::new()),
        Understood::Capo(fret) => said(ui::FactKind::Capo, fret.get().to_string()),
        Understood::NoCapo => said(ui::FactKind::NoCapo, String::new()),
        Understood::Key(key) => said(ui::FactKind::Key, written(*key)),
        Understood::Tempo(bpm) => said(ui::FactKind::Tempo, bpm.to_string()),
        Understood::Shapes(shapes) => counted(ui::FactKind::Shapes, *shapes),
        Understood::Notes => said(ui::FactKind::Notes, String::new()),
        Understood::Unread(text) => said(ui::FactKind::Unread, text.clone()),
        Understood::Naming(Naming::English) => said(ui::FactKind::Letters, String::new()),
        Understood::Naming(Naming::German) => said(ui::FactKind::German, String::new()),
        Understood::Naming(Naming::Solfege) => said(ui::FactKind::Syllables, String::new()),
        Understood::Chords(lines) => counted(ui::FactKind::Chords, *lines),
        Understood::Bars(lines) => counted(ui::FactKind::Bars, *lines),
        Understood::Words(lines) => counted(ui::FactKind::Words, *lines),
        Understood::Headings(lines) => counted(ui::FactKind::Headings, *lines),
        Understood::Tabs(lines) => counted(ui::FactKind::Tabs, *lines),
        Understood::Fault(fault) => {
            let fault = fault_view(Some(fault));
            ui::FactView { kind: ui::FactKind::Fault, fault, ..ui::FactView::default() }
        }
    }
}
