//! Writes music as `MusicXML` 4.0 (W3C Community Group report, 2021): a stave and a tab stave below it.

use std::fmt::Write;

use crate::instrument::CourseIndex;
use crate::shapes::Finger;
use crate::theory::{Note, SpelledPitch};

use super::escaped;
use super::score::{Bar, Event, Frame, Fretted, Harmony, Score, TICKS};

/// Lengths a single note says: in ticks, its name, whether it is dotted, whether it is one of three in the time of two.
const VALUES: [(u32, &str, bool, bool); 16] = [
    (4 * TICKS, "whole", false, false),
    (3 * TICKS, "half", true, false),
    (2 * TICKS, "half", false, false),
    (3 * TICKS / 2, "quarter", true, false),
    (4 * TICKS / 3, "half", false, true),
    (TICKS, "quarter", false, false),
    (3 * TICKS / 4, "eighth", true, false),
    (2 * TICKS / 3, "quarter", false, true),
    (TICKS / 2, "eighth", false, false),
    (3 * TICKS / 8, "16th", true, false),
    (TICKS / 3, "eighth", false, true),
    (TICKS / 4, "16th", false, false),
    (TICKS / 6, "16th", false, true),
    (TICKS / 8, "32nd", false, false),
    (TICKS / 12, "32nd", false, true),
    (TICKS / 16, "64th", false, false),
];

/// A piece of a note: what one sign says.
struct Piece {
    ticks: u32,
    value: Option<(&'static str, bool, bool)>,
}

/// Parts a length into what single notes say, longest first; as it is where one says it.
fn pieces(ticks: u32) -> Vec<Piece> {
    let whole = |&(length, name, dotted, three): &(u32, &'static str, bool, bool)| Piece {
        ticks: length,
        value: Some((name, dotted, three)),
    };
    if let Some(exact) = VALUES.iter().find(|value| value.0 == ticks) {
        return vec![whole(exact)];
    }
    let mut left = ticks;
    let mut parts = Vec::new();
    while left > 0 {
        let piece = VALUES.iter().find(|value| value.0 <= left && !value.3).map(whole);
        let piece = piece.unwrap_or(Piece { ticks: left, value: None });
        left -= piece.ticks;
        parts.push(piece);
    }
    parts
}

/// The kinds of chord the standard names, by the ids of `data/chords.toml`.
const KINDS: [(&str, &str); 24] = [
    ("major", "major"),
    ("minor", "minor"),
    ("augmented", "augmented"),
    ("diminished", "diminished"),
    ("power", "power"),
    ("suspended-second", "suspended-second"),
    ("suspended-fourth", "suspended-fourth"),
    ("sixth", "major-sixth"),
    ("minor-sixth", "minor-sixth"),
    ("dominant-seventh", "dominant"),
    ("major-seventh", "major-seventh"),
    ("minor-seventh", "minor-seventh"),
    ("minor-major-seventh", "major-minor"),
    ("diminished-seventh", "diminished-seventh"),
    ("half-diminished-seventh", "half-diminished"),
    ("dominant-ninth", "dominant-ninth"),
    ("major-ninth", "major-ninth"),
    ("minor-ninth", "minor-ninth"),
    ("dominant-eleventh", "dominant-11th"),
    ("major-eleventh", "major-11th"),
    ("minor-eleventh", "minor-11th"),
    ("dominant-thirteenth", "dominant-13th"),
    ("major-thirteenth", "major-13th"),
    ("minor-thirteenth", "minor-13th"),
];

impl Score {
    /// Writes the music. String 1 is the one players call 1; line 1 of the tab stave is its bottom line, the string with
    /// the highest number. Pitches are as they sound, with the capo; `staff-tuning` is without it.
    #[must_use]
    pub fn to_music_xml(&self) -> String {
        let mut xml = String::from(concat!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
            "<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" ",
            "\"http://www.musicxml.org/dtds/partwise.dtd\">\n",
            "<score-partwise version=\"4.0\">\n"
        ));
        let _ = writeln!(xml, " <work><work-title>{}</work-title></work>", escaped(&self.title));
        xml += " <identification><encoding><software>Pegwise</software></encoding></identification>\n";
        let _ = writeln!(
            xml,
            " <part-list><score-part id=\"P1\"><part-name>{}</part-name></score-part></part-list>",
            escaped(&self.instrument)
        );
        xml += " <part id=\"P1\">\n";
        for (number, bar) in self.bars.iter().enumerate() {
            let pickup = if bar.number == 0 { " implicit=\"yes\"" } else { "" };
            let _ = writeln!(xml, "  <measure number=\"{}\"{pickup}>", bar.number);
            if number == 0 {
                self.attributes(bar.metre, &mut xml);
            } else if number.checked_sub(1).and_then(|before| self.bars.get(before)).map(|before| before.metre)
                != Some(bar.metre)
            {
                let _ = writeln!(xml, "   <attributes>{}</attributes>", time(bar.metre));
            }
            self.bar(bar, &mut xml);
            xml += "  </measure>\n";
        }
        if self.bars.is_empty() {
            xml += "  <measure number=\"1\">\n";
            self.attributes((4, 4), &mut xml);
            xml += "   <note><rest measure=\"yes\"/><duration>192</duration><staff>1</staff></note>\n  </measure>\n";
        }
        xml + " </part>\n</score-partwise>\n"
    }

    fn attributes(&self, metre: (u8, u8), xml: &mut String) {
        let lines = self.strings.len();
        let _ = writeln!(xml, "   <attributes>\n    <divisions>{TICKS}</divisions>\n    <key><fifths>0</fifths></key>");
        let _ = writeln!(xml, "    {}\n    <staves>2</staves>", time(metre));
        let change = if self.is_written_up() { "<clef-octave-change>-1</clef-octave-change>" } else { "" };
        let _ = writeln!(xml, "    <clef number=\"1\"><sign>G</sign><line>2</line>{change}</clef>");
        let _ = writeln!(
            xml,
            "    <clef number=\"2\"><sign>TAB</sign><line>{}</line></clef>",
            lines.saturating_sub(1).max(1)
        );
        *xml += "    <staff-details number=\"2\">\n     <staff-type>alternate</staff-type>\n";
        let _ = writeln!(xml, "     <staff-lines>{lines}</staff-lines>");
        for (index, pitch) in self.strings.iter().enumerate() {
            let _ = write!(xml, "     <staff-tuning line=\"{}\">", index + 1);
            let _ = write!(xml, "<tuning-step>{:?}</tuning-step>", pitch.note().letter());
            alter(xml, "tuning-alter", pitch.note());
            let _ = writeln!(xml, "<tuning-octave>{}</tuning-octave></staff-tuning>", octave(*pitch));
        }
        if self.capo > 0 {
            let _ = writeln!(xml, "     <capo>{}</capo>", self.capo);
        }
        *xml += "    </staff-details>\n   </attributes>\n";
    }

    fn bar(&self, bar: &Bar, xml: &mut String) {
        if let Some(heading) = &bar.heading {
            let _ = writeln!(
                xml,
                "   <direction placement=\"above\"><direction-type><words font-weight=\"bold\">{}</words></direction-type><staff>1</staff></direction>",
                escaped(heading)
            );
        }
        for harmony in &bar.harmonies {
            self.harmony(harmony, xml);
        }
        let back = |ticks: u32, xml: &mut String| {
            if ticks > 0 {
                let _ = writeln!(xml, "   <backup><duration>{ticks}</duration></backup>");
            }
        };
        let mut is_first = true;
        for staff in [1, 2] {
            for (voice, events) in bar.voices.iter().enumerate() {
                if !std::mem::take(&mut is_first) {
                    back(bar.ticks(), xml);
                }
                for event in events {
                    self.event(event, staff, voice, xml);
                }
            }
        }
    }

    fn event(&self, event: &Event, staff: u8, voice: usize, xml: &mut String) {
        let named = voice + if staff == 1 { 1 } else { 5 };
        let parts = pieces(event.ticks);
        let all = parts.len();
        for (part, piece) in parts.iter().enumerate() {
            let (ties_from, ties_to) = (event.ties_from || part > 0, event.ties_to || part + 1 < all);
            let duration = format!("<duration>{}</duration>", piece.ticks);
            let (mut kind, mut three) = (String::new(), String::new());
            if let Some((name, dotted, is_three)) = piece.value {
                kind = format!("<type>{name}</type>{}", if dotted { "<dot/>" } else { "" });
                if is_three {
                    three = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
                        .to_owned();
                }
            }
            if event.notes.is_empty() {
                let _ = writeln!(
                    xml,
                    "   <note><rest/>{duration}<voice>{named}</voice>{kind}{three}<staff>{staff}</staff></note>"
                );
                continue;
            }
            for (index, note) in event.notes.iter().enumerate() {
                *xml += "   <note>";
                if index > 0 {
                    *xml += "<chord/>";
                }
                let _ = write!(xml, "<pitch><step>{:?}</step>", note.pitch.note().letter());
                alter(xml, "alter", note.pitch.note());
                let _ = write!(xml, "<octave>{}</octave></pitch>{duration}", octave(note.pitch));
                let mut tied = String::new();
                for (is_there, how) in [(ties_from, "stop"), (ties_to, "start")] {
                    if is_there {
                        let _ = write!(xml, "<tie type=\"{how}\"/>");
                        let _ = write!(tied, "<tied type=\"{how}\"/>");
                    }
                }
                let _ = write!(xml, "<voice>{named}</voice>{kind}{three}");
                if voice > 0 {
                    *xml += "<stem>down</stem>";
                }
                let _ = write!(xml, "<staff>{staff}</staff>");
                let technical = if staff == 2 { self.technical(note, voice) } else { String::new() };
                if !tied.is_empty() || !technical.is_empty() {
                    let _ = write!(xml, "<notations>{tied}{technical}</notations>");
                }
                *xml += "</note>\n";
            }
        }
    }

    fn number(&self, course: CourseIndex) -> u8 {
        course.player_number(self.strings.len())
    }

    fn technical(&self, note: &Fretted, voice: usize) -> String {
        let mut xml =
            format!("<technical><string>{}</string><fret>{}</fret>", self.number(note.course), note.fret.get());
        if let Some(finger) = note.finger {
            let _ = write!(xml, "<fingering>{}</fingering>", fingering(finger));
        }
        if voice > 0 {
            // The thumb.
            xml += "<pluck>p</pluck>";
        }
        xml + "</technical>"
    }

    fn harmony(&self, harmony: &Harmony, xml: &mut String) {
        let chord = harmony.chord;
        *xml += "   <harmony><root>";
        let _ = write!(xml, "<root-step>{:?}</root-step>", chord.root().letter());
        alter(xml, "root-alter", chord.root());
        *xml += "</root>";
        let id = chord.quality().id();
        let kind = KINDS.iter().find(|(ours, _)| *ours == id).map_or("other", |(_, theirs)| theirs);
        let _ = write!(xml, "<kind text=\"{}\">{kind}</kind>", escaped(&harmony.suffix));
        if let Some(bass) = chord.slash_bass() {
            let _ = write!(xml, "<bass><bass-step>{:?}</bass-step>", bass.letter());
            alter(xml, "bass-alter", bass);
            *xml += "</bass>";
        }
        if kind == "other" {
            for degree in harmony.degrees() {
                let _ = write!(
                    xml,
                    "<degree print-object=\"no\"><degree-value>{}</degree-value><degree-alter>{}</degree-alter><degree-type>add</degree-type></degree>",
                    degree.number(),
                    degree.alteration()
                );
            }
        }
        if let Some(frame) = &harmony.frame {
            self.frame(frame, xml);
        }
        if harmony.at_tick > 0 {
            let _ = write!(xml, "<offset>{}</offset>", harmony.at_tick);
        }
        *xml += "<staff>1</staff></harmony>\n";
    }

    fn frame(&self, frame: &Frame, xml: &mut String) {
        let stopped = frame.shape.fret_range();
        let (low, high) = stopped.map_or((1, 4), |(low, high)| (low.get(), high.get()));
        let first = if high <= 5 && low <= 2 { 1 } else { low };
        let spaces = (high + 1).saturating_sub(first).max(4);
        let _ = write!(
            xml,
            "<frame><frame-strings>{}</frame-strings><frame-frets>{spaces}</frame-frets>",
            self.strings.len()
        );
        if first > 1 {
            let _ = write!(xml, "<first-fret>{first}</first-fret>");
        }
        for position in frame.shape.sounding() {
            let index = position.course.from_lowest_index();
            let _ = write!(
                xml,
                "<frame-note><string>{}</string><fret>{}</fret>",
                self.number(position.course),
                position.fret.get()
            );
            if let Some(finger) = frame.fingering.fingers.get(index).copied().flatten() {
                let _ = write!(xml, "<fingering>{}</fingering>", fingering(finger));
            }
            let barre = frame.fingering.barres.iter().find(|barre| barre.fret == position.fret);
            if let Some(barre) = barre.filter(|barre| barre.from != barre.to) {
                if barre.from == position.course {
                    *xml += "<barre type=\"start\"/>";
                } else if barre.to == position.course {
                    *xml += "<barre type=\"stop\"/>";
                }
            }
            *xml += "</frame-note>";
        }
        *xml += "</frame>";
    }
}

fn time((beats, unit): (u8, u8)) -> String {
    format!("<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>")
}

fn fingering(finger: Finger) -> char {
    finger.symbol()
}

fn octave(pitch: SpelledPitch) -> i8 {
    pitch.octave()
}

/// Writes an alteration, where there is one.
fn alter(xml: &mut String, element: &str, note: Note) {
    let semitones = note.accidental().semitones();
    if semitones != 0 {
        let _ = write!(xml, "<{element}>{semitones}</{element}>");
    }
}
