//! One record of the library file, read and written so that a word this version does not know costs nothing but itself.
//!
//! A record has fields it cannot do without, and others. Where one of the others cannot be read, the record takes what it
//! has without it, and the word is held among the unknown fields: it is written back in its place as long as the player
//! has put nothing else there.

use std::fmt;

use serde::de::{DeserializeOwned, MapAccess, Visitor};
use serde::ser::SerializeSeq;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::value::RawValue;
use serde_json::{Map, Value};

use crate::songs::{SetEntry, SetList, Song, UnknownFields};

use super::favourite::Favourite;
use super::guitar::GuitarNow;
use super::library::OwnTuning;
use super::settings::Settings;
use super::shared::Shared;

/// The fields of a JSON object in their order, each as it is written.
pub(super) struct Fields<'a>(pub(super) Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Fields<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Vec<(String, &'de RawValue)>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut fields = Vec::new();
                while let Some(field) = map.next_entry()? {
                    fields.push(field);
                }
                Ok(fields)
            }
        }
        deserializer.deserialize_map(InOrder).map(Fields)
    }
}

/// A record of the library file.
pub(super) trait Record: Clone + Serialize + DeserializeOwned {
    /// The fields it cannot do without.
    const NEEDED: &'static [&'static str];
    /// The other fields this version knows.
    const OTHERS: &'static [&'static str];

    /// Returns what it says that cannot be.
    fn find_fault(&self) -> Option<String> {
        None
    }

    /// Returns the fields it holds for others.
    fn unknown(&self) -> &UnknownFields;

    /// Returns the same, to be changed.
    fn unknown_mut(&mut self) -> &mut UnknownFields;

    /// Returns whether it holds words in the place of fields that are known.
    fn holds_words(&self) -> bool {
        !self.unknown().is_empty() && self.unknown().keys().any(|field| Self::OTHERS.contains(&field.as_str()))
    }

    /// Lets go of held words inside it whose place the player has filled.
    fn settle(&mut self) {}
}

impl Record for Song {
    const NEEDED: &'static [&'static str] = &["id", "title", "instrument_id", "tuning"];
    const OTHERS: &'static [&'static str] =
        &["from", "capo", "key", "chart", "chart_naming", "moved_from", "shapes", "notes", "tempo_bpm", "tune"];

    fn find_fault(&self) -> Option<String> {
        self.check().err().map(|fault| fault.to_string())
    }

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

impl Record for OwnTuning {
    const NEEDED: &'static [&'static str] = &["id", "instrument_id", "name", "pitches"];
    const OTHERS: &'static [&'static str] = &["notes"];

    fn find_fault(&self) -> Option<String> {
        let number = self.id.strip_prefix("own-").and_then(|number| number.parse::<u64>().ok());
        number.is_none().then(|| format!("own tuning \"{}\" has no proper id of its own", self.id))
    }

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

impl Record for SetList {
    const NEEDED: &'static [&'static str] = &["id", "title"];
    const OTHERS: &'static [&'static str] = &["notes", "entries"];

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }

    fn holds_words(&self) -> bool {
        self.unknown.keys().any(|field| Self::OTHERS.contains(&field.as_str()))
            || self.entries.iter().any(Record::holds_words)
    }

    fn settle(&mut self) {
        for entry in self.entries.iter_mut().filter(|entry| entry.is_pinned) {
            entry.unknown.remove("is_pinned");
        }
    }
}

impl Record for SetEntry {
    const NEEDED: &'static [&'static str] = &["song_id"];
    const OTHERS: &'static [&'static str] = &["is_pinned"];

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

impl Record for Favourite {
    const NEEDED: &'static [&'static str] = &["pitches", "chord", "frets"];
    const OTHERS: &'static [&'static str] = &[];

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

impl Record for GuitarNow {
    const NEEDED: &'static [&'static str] = &["instrument_id", "pitches"];
    const OTHERS: &'static [&'static str] = &[
        "unknown_courses",
        "capo",
        "target",
        "way",
        "retuning",
        "capo_off",
        "strings",
        "bridge",
        "temperament",
        "key",
        "key_is_chosen",
    ];

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

impl Record for Settings {
    const NEEDED: &'static [&'static str] = &[];
    const OTHERS: &'static [&'static str] = &[
        "theme",
        "naming",
        "spelling",
        "is_left_handed",
        "diagram",
        "bridge",
        "instrument_id",
        "string_set_id",
        "reference_a4_hz",
        "language",
        "has_reduced_motion",
        "stays_awake",
        "temperament",
        "has_seen_guide",
        "has_heard_wobble",
        "listening_tolerance_cents",
        "stage",
        "hides_diagram_key",
        "export_reminder",
    ];

    fn find_fault(&self) -> Option<String> {
        Self::find_fault(self).map(|field| format!("setting \"{field}\" is out of range"))
    }

    fn unknown(&self) -> &UnknownFields {
        &self.unknown
    }

    fn unknown_mut(&mut self) -> &mut UnknownFields {
        &mut self.unknown
    }
}

/// Reads a record; words in fields it can do without are held, and their fields named.
///
/// # Errors
/// When it is no record of this kind even without them; says why.
pub(super) fn read_record<R: Record>(text: &str) -> Result<(R, Vec<String>), String> {
    let why = match serde_json::from_str::<R>(text) {
        Ok(record) => match record.find_fault() {
            None => return Ok((record, Vec::new())),
            Some(fault) => fault,
        },
        Err(fault) => fault.to_string(),
    };
    let Ok(Fields(fields)) = serde_json::from_str::<Fields<'_>>(text) else { return Err(why) };
    let mut known = Map::new();
    let mut unsure = Vec::new();
    for (name, raw) in &fields {
        let Ok(value) = serde_json::from_str::<Value>(raw.get()) else { return Err(why) };
        // Of two fields of one name nobody knows which is meant.
        if known.contains_key(name) || unsure.iter().any(|(other, _)| other == name) {
            return Err(why);
        }
        if R::OTHERS.contains(&name.as_str()) {
            unsure.push((name.clone(), value));
        } else {
            known.insert(name.clone(), value);
        }
    }
    let reads = |fields: &Map<String, Value>| {
        serde_json::from_value::<R>(Value::Object(fields.clone())).ok().filter(|record| record.find_fault().is_none())
    };
    let mut record = reads(&known).ok_or(why)?;
    let mut held = Vec::new();
    for (name, value) in unsure {
        known.insert(name.clone(), value);
        match reads(&known) {
            Some(whole) => record = whole,
            None => held.extend(known.remove(&name).map(|value| (name, value))),
        }
    }
    let names = held.iter().map(|(name, _)| name.clone()).collect();
    record.unknown_mut().extend(held);
    Ok((record, names))
}

/// A record as it is written: what it holds for others in its place, where the player has put nothing else there.
pub(super) struct Written<'a, R>(pub(super) &'a R);

impl<R: Record> Serialize for Written<'_, R> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if !self.0.holds_words() {
            return self.0.serialize(serializer);
        }
        let mut record = self.0.clone();
        record.settle();
        let mut held = UnknownFields::new();
        for field in R::OTHERS {
            held.extend(record.unknown_mut().remove_entry(*field));
        }
        let fault = <S::Error as serde::ser::Error>::custom::<serde_json::Error>;
        let mut typed = object(&record).map_err(fault)?;
        let needed = typed.iter().filter(|(field, _)| R::NEEDED.contains(&field.as_str()));
        let needed: Map<_, _> = needed.map(|(field, value)| (field.clone(), value.clone())).collect();
        let plain: R = serde_json::from_value(Value::Object(needed)).map_err(fault)?;
        let plain = object(&plain).map_err(fault)?;
        for (field, value) in held {
            if typed.get(&field) == plain.get(&field) {
                typed.insert(field, value);
            }
        }
        typed.serialize(serializer)
    }
}

fn object<R: Record>(record: &R) -> Result<Map<String, Value>, serde_json::Error> {
    serde_json::to_value(record).map(|value| if let Value::Object(fields) = value { fields } else { Map::new() })
}

/// Writes a list of records.
pub(super) fn list<R: Record, S: Serializer>(records: &[R], serializer: S) -> Result<S::Ok, S::Error> {
    let mut list = serializer.serialize_seq(Some(records.len()))?;
    for record in records {
        list.serialize_element(&Written(record))?;
    }
    list.end()
}

/// The same for records that may be shared.
pub(super) fn shared_list<R: Record, S: Serializer>(records: &[Shared<R>], serializer: S) -> Result<S::Ok, S::Error> {
    let mut list = serializer.serialize_seq(Some(records.len()))?;
    for record in records {
        list.serialize_element(&Written(&**record))?;
    }
    list.end()
}

/// Writes one record.
pub(super) fn one<R: Record, S: Serializer>(record: &R, serializer: S) -> Result<S::Ok, S::Error> {
    Written(record).serialize(serializer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::Tuning;
    use crate::songs::{ChosenTuning, SongId};
    use crate::theory::Pitch;

    fn fields<R: Record>(record: &R) -> Vec<String> {
        object(record).expect("a record is an object").keys().cloned().collect()
    }

    fn has_all<R: Record>(record: &R) {
        let known: Vec<&str> = [R::NEEDED, R::OTHERS].concat();
        for field in fields(record) {
            assert!(known.contains(&field.as_str()), "{field} is in neither list");
        }
    }

    #[test]
    fn every_field_that_is_written_is_in_one_of_the_lists() {
        let pitches = Tuning::new(vec![Pitch::from_number(40).expect("a pitch"); 6]).expect("a tuning");
        let mut song = Song::new("T", "guitar", ChosenTuning { id: None, pitches: pitches.clone() });
        (song.from, song.chart, song.notes, song.tempo_bpm) = ("f".into(), "| G |".into(), "n".into(), Some(90));
        song.key = Some(crate::theory::Key::read("G").expect("a key"));
        let shape = crate::shapes::Shape::read("0 0 0 0 0 0", 6).expect("a shape");
        song.choose_shape(crate::theory::Chord::read("G").expect("a chord"), Some(&shape));
        has_all(&song);
        song.chart_naming = crate::theory::Naming::German;
        let song = song.transposed(crate::theory::Semitones::new(2), &mut |_, _| Some(shape.clone()));
        has_all(&song);
        // It has no tune.
        assert_eq!(fields(&song).len() + 1, Song::NEEDED.len() + Song::OTHERS.len());
        // What is not chosen is not written.
        let settings = Settings { naming: Some(crate::theory::Naming::German), ..Settings::default() };
        has_all(&settings);
        assert_eq!(fields(&settings).len(), Settings::OTHERS.len());
        let mut list = SetList::new("L");
        list.notes = "n".into();
        list.entries = vec![SetEntry { is_pinned: true, ..SetEntry::new(SongId(1)) }];
        has_all(&list);
        has_all(&list.entries[0]);
        let chord = crate::theory::Chord::read("G").expect("a chord");
        has_all(&Favourite::new(&pitches, chord, crate::instrument::Fret::OPEN, &shape));
        let open = crate::instrument::Fret::OPEN;
        let first = crate::instrument::CourseIndex::from_lowest(5);
        let guitar = crate::instrument::Catalog::bundled().guitar();
        let now = GuitarNow {
            wanted: Some(super::super::Wanted::default()),
            capo_off: Some(open),
            strings: Some(crate::instrument::Stringing::unknown(guitar)),
            bridge: Some(crate::instrument::Bridge::Floating),
            temperament: Some(super::super::Temperament::Equal),
            key: song.key,
            key_is_chosen: true,
            ..GuitarNow::in_tuning("guitar", &pitches).with_doubt(first)
        };
        has_all(&now);
    }
}
