//! Which instrument, which strings, which bridge, where the capo sits.

use crate::instrument::{Bridge, Catalog, Fret, Stringing};

use super::guitar::Guitar;
use super::next::Next;
use super::notice::Notice;

/// What the Instrument screen asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum InstrumentAction {
    /// Look for instruments by name.
    Searched(String),
    /// Take this instrument: as it was put away, else in its usual tuning.
    Instrument(String),
    /// It wears this set of strings.
    StringSet(String),
    /// Say which string is on: this one of a course, by its player number and its place within the course, from 0.
    Describe(u8, usize),
    /// Its scale is so long, as typed; its usual length where nothing is typed.
    ScaleTyped(String),
    /// It has this bridge.
    Bridge(Bridge),
    /// Move the capo by so many frets.
    CapoBy(i16),
}

/// What stands in the fields of the Instrument screen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct InstrumentFields {
    /// What was typed to find an instrument.
    pub search: String,
    /// The scale length as typed, until another instrument is in hand.
    pub scale: Option<String>,
}

pub(super) fn update(fields: &mut InstrumentFields, guitar: &mut Guitar, action: InstrumentAction) -> Next {
    match action {
        InstrumentAction::Searched(text) => fields.search = text,
        InstrumentAction::Instrument(id) => {
            if guitar.instrument().id() != id && Catalog::bundled().find_instrument(&id).is_some() {
                fields.scale = None;
                return Next::Take(id);
            }
        }
        InstrumentAction::StringSet(id) => {
            guitar.string_with(&id);
        }
        InstrumentAction::Describe(number, string) => return Next::Describe(number, string),
        InstrumentAction::ScaleTyped(text) => {
            if let Some(scale_mm) = read_scale(&text) {
                guitar.scale_with(scale_mm);
            }
            fields.scale = Some(text);
            return Next::Typed;
        }
        InstrumentAction::Bridge(bridge) => guitar.bridge_with(bridge),
        InstrumentAction::CapoBy(frets) => {
            let wanted = i16::from(guitar.capo().get()) + frets;
            if let Ok(fret) = u8::try_from(wanted)
                && let Err(notice) = move_capo(guitar, Fret::new(fret))
            {
                return Next::Tell(notice);
            }
        }
    }
    Next::Shown
}

/// Moves the capo where it can sit; else what the player is told.
pub(super) fn move_capo(guitar: &mut Guitar, fret: Fret) -> Result<(), Notice> {
    let highest = guitar.instrument().last_fret().get().saturating_sub(1);
    if guitar.set_capo(fret) { Ok(()) } else { Err(Notice::CapoBeyondFrets { asked: fret.get(), highest }) }
}

/// Reads a scale length in millimetres: `Some(None)` where nothing is typed, `None` where no string is so long.
pub(super) fn read_scale(text: &str) -> Option<Option<f64>> {
    let text = text.trim().to_lowercase().replace(',', ".");
    let number = text.strip_suffix("mm").unwrap_or(&text).trim_end();
    if number.is_empty() {
        return Some(None);
    }
    let mm: f64 = number.parse().ok()?;
    Stringing::SCALES_MM.contains(&mm).then_some(Some(mm))
}
