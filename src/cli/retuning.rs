//! `pegwise tunings` and `pegwise retune`.

use std::fmt::Write;

use serde::Serialize;

use crate::instrument::{
    Catalog, Course, CourseIndex, Fret, Fretboard, Gauge, Instrument, Level, Newtons, StringsAsked, Strung, Tuning,
    matching_tunings, strings_asked,
};
use crate::retune::{
    BeatRate, CourseState, Match, MatchKind, Plan, PlanRequest, Remedy, Sounding, Step, StringLoad, Sweetening, Touch,
    TuningFault, WithinCourse,
};
use crate::shapes::ShapeSearch;
use crate::theory::{Cents, Key, Mode, Note, PitchClass, Semitones, SpelledPitch, SpellingChoice};

use super::args::{RetuneArgs, Temperament, TuningsArgs};
use super::written::{CatalogTuningJson, TuningJson, notes, rounded, spelled};
use super::{Failure, json};

pub(super) fn tunings(wanted: &TuningsArgs) -> Result<String, Failure> {
    let instrument = wanted.common.instrument()?;
    let all = Catalog::bundled().tunings_for(instrument);
    let found = matching_tunings(&all, wanted.search.as_deref().unwrap_or(""));
    if wanted.common.json {
        let rows: Vec<CatalogTuningJson> =
            found.iter().map(|tuning| CatalogTuningJson::new(instrument, tuning)).collect();
        return json(&rows);
    }
    let mut text = String::new();
    for tuning in &found {
        let _ = writeln!(text, "{:<28} {:<24} {}", tuning.name(), notes(tuning.spelled()), tuning.used_for());
    }
    let _ = writeln!(text, "{} of {} tunings of the {}", found.len(), all.len(), instrument.name());
    if let Some(search) = wanted.search.as_deref().filter(|_| found.is_empty()) {
        let near = Catalog::bundled().near_names(instrument, search);
        let _ = if near.is_empty() { Ok(()) } else { writeln!(text, "close to it: {near}") };
    }
    Ok(text)
}

#[derive(Serialize)]
struct PlanJson {
    instrument: String,
    from: TuningJson,
    to: TuningJson,
    takes_capo_off: bool,
    /// Where the capo goes back when all is right; null when it stays as it is.
    capo_after: Option<u8>,
    /// What the strings are tempered for.
    temperament: Temperament,
    /// How far each string is meant to end over equal temperament, from the thickest on.
    sweetening_cents: Vec<f64>,
    /// What the target asks of the strings that they may not stand, by course.
    warnings: Vec<String>,
    steps: Vec<StepJson>,
    checks: Vec<MatchJson>,
    /// How often to go through the strings, the steps themselves counted.
    passes: u8,
    /// The steps go by the tone, since every turn shifts the other strings.
    led_by_tone: bool,
    /// In the passes after the first, all by the tone: the strings by number in their order, and past their mark by which
    /// share of what they are off.
    later_passes: LaterJson,
    /// How far each course is off after the steps, from the thickest on; positive is sharp.
    drift_cents: Vec<f64>,
    /// What to do where a string would be too tight.
    instead: Vec<InsteadJson>,
    neck_load_n: LoadJson,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum InsteadJson {
    /// Tune to these pitches and put the capo on.
    LowerWithCapo { tuning: TuningJson, capo: u8 },
    /// Put a string of another gauge there; `string` counts within the course, from 1.
    LighterString { course: u8, string: usize, gauge: String },
}

#[derive(Serialize)]
struct LoadJson {
    before: f64,
    highest: f64,
    after: f64,
}

#[derive(Serialize)]
struct LaterJson {
    order: Vec<u8>,
    past_share: f64,
}

#[derive(Serialize)]
struct StepJson {
    course: u8,
    from: Option<String>,
    to: String,
    semitones: Option<i16>,
    /// How far over equal temperament it is meant to end.
    offset_cents: f64,
    come_up_from_below: bool,
    matches: Vec<MatchJson>,
    /// For a pair: how its other strings follow the first.
    within_pair: Vec<WithinJson>,
    /// How far off the first of the ways leaves it on purpose, the strings before it included.
    left_off_cents: f64,
    chain_error_cents: f64,
    strings: Vec<StringJson>,
}

#[derive(Serialize)]
struct WithinJson {
    /// Which string of the course, from 1.
    string: usize,
    /// What it is called among them.
    called: String,
    #[serde(flatten)]
    how: MatchJson,
}

#[derive(Serialize)]
struct MatchJson {
    kind: &'static str,
    reference: Option<SoundingJson>,
    tuned: SoundingJson,
    /// The reference stands at its old pitch and moves later.
    reference_is_old: bool,
    /// `still`, `left-still` where the beats of equal temperament are too slow to count, or `count`.
    hear: &'static str,
    /// How far off it is left when done so; positive is sharp.
    left_off_cents: f64,
    /// What equal temperament, or the sweetening, makes it beat; positive is wide.
    beats_per_second: f64,
    cents_per_beat: f64,
    slowest_beat_per_second: f64,
    slowest_beat_cents: f64,
    error_cents: f64,
}

#[derive(Serialize)]
struct SoundingJson {
    course: u8,
    fret: u8,
    partial: u8,
}

#[derive(Serialize)]
struct StringJson {
    /// Null where it is not known which string is on.
    gauge: Option<String>,
    /// Null where the string's pitch is not known.
    tension_before_n: Option<f64>,
    tension_after_n: f64,
    tension_before_lb: Option<f64>,
    tension_after_lb: f64,
    share_of_strength: f64,
    level: &'static str,
}

/// Words for a plan on one instrument.
struct Words<'a> {
    instrument: &'a Instrument,
    from: Vec<SpelledPitch>,
    target: Vec<SpelledPitch>,
}

pub(super) fn retune(wanted: &RetuneArgs) -> Result<String, Failure> {
    let instrument = wanted.common.instrument()?;
    let from = wanted.common.tuning(wanted.from.as_deref())?;
    let to = wanted.common.tuning(Some(&wanted.to))?;
    Fretboard::new(instrument, &from, Fret::new(wanted.capo)).map_err(Failure::input)?;
    let unknown = wanted.unknown(instrument.courses().len())?;
    let (strings, said) = wanted.strings(&from)?;
    let a4 = wanted.a4()?;
    if let Some(asked) = strings_asked(instrument, &strings, &from, &to, a4)
        && asked.courses.iter().any(|course| !said.contains(course))
    {
        return Err(Failure::Input(which_strings(instrument, &asked)));
    }
    let strung = Strung::new(instrument, &strings).map_err(Failure::input)?;
    let now: Vec<CourseState> = from
        .pitches()
        .iter()
        .zip(to.pitches())
        .enumerate()
        .map(|(index, (&pitch, &to))| {
            let course = CourseIndex::from_lowest(index);
            // A string that could not be at the pitch it is said to be at has just been put on.
            let is_new = strung.strains(course, pitch, Cents::ZERO, a4).any(|strain| !strain.is_believable());
            if is_new && said.contains(&course) {
                CourseState::doubtful(to)
            } else if unknown.contains(&course.player_number(from.courses())) {
                CourseState::doubtful(pitch)
            } else {
                CourseState::right(pitch)
            }
        })
        .collect();
    let request = PlanRequest {
        instrument,
        strings: &strings,
        now: &now,
        to: &to,
        a4,
        capo: Fret::new(wanted.capo),
        bridge: wanted.bridge()?,
    };
    let key = wanted.key.as_deref().map(Key::read).transpose().map_err(Failure::input)?;
    let sweetening = sweetening(wanted.temperament, key, instrument, &to)?;
    let plan = Plan::sweetened(&request, &sweetening).map_err(Failure::input)?;
    let warnings = warnings(&plan, &strung);
    let target = spelled(instrument, &to);
    let from_names = Catalog::bundled().spelled_on_the_way(instrument, from.pitches(), &target);
    let words = Words { instrument, from: from_names, target };
    let offsets: Vec<f64> = sweetening.offsets().iter().map(|offset| rounded(offset.get(), 2)).collect();
    if wanted.common.json {
        let safety = plan.safety();
        return json(&PlanJson {
            instrument: instrument.id().to_owned(),
            from: TuningJson::new(instrument, &from),
            to: TuningJson::new(instrument, &to),
            takes_capo_off: plan.takes_capo_off(),
            capo_after: plan.takes_capo_off().then_some(wanted.capo),
            temperament: wanted.temperament,
            sweetening_cents: offsets,
            warnings,
            steps: plan.steps().iter().map(|step| words.step_json(&plan, step)).collect(),
            checks: plan.checks().iter().map(|check| words.match_json(check.how())).collect(),
            passes: plan.drift().passes(),
            led_by_tone: plan.is_led_by_tone(),
            later_passes: LaterJson {
                order: plan.drift().check_order().into_iter().map(|course| words.number(course)).collect(),
                past_share: plan.drift().past_share(),
            },
            drift_cents: plan.drift().after_first_pass().iter().map(|off| rounded(off.get(), 2)).collect(),
            instead: safety.remedies().iter().map(|remedy| words.instead_json(remedy)).collect(),
            neck_load_n: LoadJson {
                before: rounded(safety.before().get(), 1),
                highest: rounded(safety.highest().get(), 1),
                after: rounded(safety.after().get(), 1),
            },
        });
    }
    let warned: String = warnings.iter().map(|warning| format!("Warning: {warning}.\n")).collect();
    let tempered = match wanted.temperament {
        Temperament::Equal => String::new(),
        _ => format!("Cents over equal temperament: {}.\n", signed(&offsets)),
    };
    let capo = match plan.takes_capo_off() {
        true => format!("Then put the capo back at {}.\n", instrument.fret_name(request.capo)),
        false => String::new(),
    };
    Ok(warned + &tempered + &words.plan(&plan) + &capo)
}

/// Returns the key of the chord that the open strings sound; G where they sound none.
fn open_key(tuning: &Tuning) -> Key {
    let Some(root) = Sweetening::find_open_root(tuning) else {
        return Key::new(Note::of_class(PitchClass::from_semitones_above_c(7), SpellingChoice::Customary), Mode::Major);
    };
    let has_minor_third = tuning.pitches().iter().any(|pitch| root.up_to(pitch.class()) == 3);
    let mode = if has_minor_third { Mode::Minor } else { Mode::Major };
    Key::new(Note::of_class(root, SpellingChoice::Customary), mode)
}

/// Writes cents with their sign, string by string from the thickest.
fn signed(cents: &[f64]) -> String {
    cents.iter().map(|cents| format!("{cents:+.1}")).collect::<Vec<_>>().join(" ")
}

/// Returns how far over equal temperament each string is meant to end; an open tuning that is no chord stays equal.
fn sweetening(
    temperament: Temperament,
    key: Option<Key>,
    instrument: &Instrument,
    to: &Tuning,
) -> Result<Sweetening, Failure> {
    let equal = Sweetening::none(to.courses());
    Ok(match temperament {
        Temperament::Equal => equal,
        Temperament::OpenChord => {
            Sweetening::find_open_root(to).map_or(equal, |root| Sweetening::of_open_chord(to, root))
        }
        Temperament::KeyShapes => {
            let board = Fretboard::new(instrument, to, Fret::OPEN).map_err(Failure::input)?;
            let search = ShapeSearch::best(1);
            let triads = key.unwrap_or_else(|| open_key(to)).triads().into_iter();
            let shapes = triads.filter_map(|of_key| search.find(of_key.chord, &board).shapes.into_iter().next());
            let frets: Vec<_> = shapes.map(|found| found.shape().frets().to_vec()).collect();
            Sweetening::of_shapes(&board, &frets)
        }
    })
}

/// Asks which strings are on, in one sentence that says what to answer with.
fn which_strings(instrument: &Instrument, asked: &StringsAsked) -> String {
    let courses = instrument.courses().len();
    let numbers: Vec<String> = asked.courses.iter().map(|course| course.player_number(courses).to_string()).collect();
    let what = if numbers.len() == 1 { "string" } else { "strings" };
    let sets: Vec<String> = asked.sets.iter().map(|set| format!("--strings {}", set.id())).collect();
    let wanted = match asked.wanted {
        Some(set) => format!("the next tuning is played on {}", set.id()),
        None => "the next tuning needs other strings, and no set with them is listed for this instrument".to_owned(),
    };
    let numbers = numbers.join(" ");
    format!("which is on as {what} {numbers}? {wanted}; answer with {} or --string NUMBER=GAUGE", sets.join(", "))
}

/// What the target asks of the strings that move and of the neck, in sentences.
fn warnings(plan: &Plan, strung: &Strung) -> Vec<String> {
    let safety = plan.safety();
    let mut told: Vec<String> = Vec::new();
    for step in plan.steps() {
        let loads = safety.strings().iter().filter(|load| load.course == step.course());
        let course = step.course().player_number(strung.courses());
        let worst = loads.clone().max_by(|one, other| one.share_of_strength.total_cmp(&other.share_of_strength));
        let Some(share_of_strength) = worst.map(|load| load.share_of_strength) else { continue };
        let has = |level: Level| loads.clone().any(|load| load.level_after == level);
        if has(Level::TooTight) {
            told.push(TuningFault::TooTight { course, share_of_strength }.to_string());
        } else if has(Level::Slack) {
            told.push(TuningFault::Slack { course }.to_string());
        }
    }
    if let Some(set) = strung.set_pull().filter(|_| safety.pulls_hard()) {
        let (most, set) = (safety.highest().get(), set.get());
        told.push(format!(
            "all strings together pull hard on the neck: {most:.0} N, where the set is made for {set:.0} N"
        ));
    }
    told
}

impl Words<'_> {
    fn number(&self, course: CourseIndex) -> u8 {
        course.player_number(self.instrument.courses().len())
    }

    /// Returns how a course is called: by its number, a pair or a drone string by what it is as well.
    fn called(&self, course: CourseIndex) -> String {
        let number = self.number(course);
        match self.instrument.courses().get(course.from_lowest_index()) {
            Some(found) if found.is_pair() => format!("pair {number}"),
            Some(found) if found.is_drone() => format!("drone {number}"),
            _ => number.to_string(),
        }
    }

    fn instead_json(&self, remedy: &Remedy) -> InsteadJson {
        match remedy {
            Remedy::LowerWithCapo { tuning, capo } => {
                InsteadJson::LowerWithCapo { tuning: TuningJson::new(self.instrument, tuning), capo: capo.get() }
            }
            Remedy::LighterString { course, string, gauge } => InsteadJson::LighterString {
                course: self.number(*course),
                string: string + 1,
                gauge: gauge.to_string(),
            },
        }
    }

    fn loads<'p>(plan: &'p Plan, step: &Step) -> impl Iterator<Item = &'p StringLoad> {
        let course = step.course();
        plan.safety().strings().iter().filter(move |load| load.course == course)
    }

    fn to_note(&self, step: &Step) -> String {
        self.target.get(step.course().from_lowest_index()).map(ToString::to_string).unwrap_or_default()
    }

    fn step_json(&self, plan: &Plan, step: &Step) -> StepJson {
        let index = step.course().from_lowest_index();
        let name = |names: &[SpelledPitch]| names.get(index).map(|name| name.ascii());
        let if_known = |pull: f64| step.from().map(|_| rounded(pull, 1));
        StepJson {
            course: self.number(step.course()),
            from: step.from().and_then(|_| name(&self.from)),
            to: name(&self.target).unwrap_or_default(),
            semitones: step.semitones().map(Semitones::get),
            offset_cents: rounded(step.offset().get(), 2),
            come_up_from_below: step.comes_up_from_below(),
            matches: step.matches().iter().map(|how| self.match_json(how)).collect(),
            within_pair: step.within().iter().map(|within| self.within_json(step.course(), within)).collect(),
            left_off_cents: rounded(step.left_off().get(), 2),
            chain_error_cents: rounded(step.chain_error().get(), 2),
            strings: Self::loads(plan, step)
                .map(|load| StringJson {
                    gauge: load.gauge.map(|gauge| gauge.to_string()),
                    tension_before_n: if_known(load.before.get()),
                    tension_after_n: rounded(load.after.get(), 1),
                    tension_before_lb: if_known(load.before.pounds()),
                    tension_after_lb: rounded(load.after.pounds(), 1),
                    share_of_strength: rounded(load.share_of_strength, 3),
                    level: level_word(load.level_after),
                })
                .collect(),
        }
    }

    fn within_json(&self, course: CourseIndex, within: &WithinCourse) -> WithinJson {
        WithinJson {
            string: within.string + 1,
            called: self.within_called(course, within.string),
            how: self.match_json(&within.how),
        }
    }

    /// Returns what a string of a course is called among the others of it.
    fn within_called(&self, course: CourseIndex, string: usize) -> String {
        let offsets =
            self.instrument.courses().get(course.from_lowest_index()).map(Course::offsets).unwrap_or_default();
        let up = offsets.get(string).map_or(0, |up| up.get());
        let alike = offsets.iter().filter(|offset| offset.get() == up).count();
        match (up, alike) {
            (0, _) if string == 0 => "its first string".to_owned(),
            (12, 1) => "its octave string".to_owned(),
            _ if string == 1 => "its second string".to_owned(),
            _ if string == 2 => "its third string".to_owned(),
            _ => format!("its string {}", string + 1),
        }
    }

    fn match_json(&self, how: &Match) -> MatchJson {
        let sounding = |sounding: Sounding| SoundingJson {
            course: self.number(sounding.course),
            fret: sounding.fret.get(),
            partial: sounding.partial,
        };
        MatchJson {
            kind: match how.kind() {
                MatchKind::Unison => "unison",
                MatchKind::Octave => "octave",
                MatchKind::Harmonic => "harmonic",
                MatchKind::Tone => "tone",
            },
            reference: how.reference().map(sounding),
            tuned: sounding(how.tuned()),
            reference_is_old: how.leans_on_old_pitch(),
            hear: match how.counted() {
                Some(_) => "count",
                None if how.left_off() == Cents::ZERO => "still",
                None => "left-still",
            },
            left_off_cents: rounded(how.left_off().get(), 2),
            beats_per_second: rounded(how.beats().per_second(), 3),
            cents_per_beat: rounded(how.cents_per_beat().get(), 2),
            slowest_beat_per_second: rounded(how.slowest_beat().per_second(), 2),
            slowest_beat_cents: rounded(how.slowest_beat_error().get(), 2),
            error_cents: rounded(how.error().get(), 2),
        }
    }

    fn plan(&self, plan: &Plan) -> String {
        let mut text = String::new();
        if plan.steps().is_empty() {
            return "Nothing to retune: every string is right.\n".to_owned();
        }
        if plan.takes_capo_off() {
            text += "Take the capo off first: strings are tuned without it.\n";
        }
        let passes = plan.drift().passes();
        if plan.is_led_by_tone() && passes > 1 {
            let _ = writeln!(
                text,
                "This bridge floats: every turn shifts the other strings. Go by the tone or the microphone, about {passes} \
                 rounds in all."
            );
        }
        for (index, step) in plan.steps().iter().enumerate() {
            let _ = writeln!(text, "{}. {}", index + 1, self.command(step));
            for (way, how) in step.matches().iter().enumerate() {
                let _ = writeln!(text, "   {} {}", if way == 0 { "hear:" } else { "  or:" }, self.sentence(how));
            }
            if !step.within().is_empty() {
                text += "   damp its other strings until the first is right\n";
            }
            for within in step.within() {
                let called = self.within_called(step.course(), within.string);
                let _ = writeln!(text, "   then {called}: {}", self.within_sentence(&within.how));
            }
            for load in Self::loads(plan, step) {
                let word = match load.level_after {
                    Level::Normal => String::new(),
                    other => format!(": {}", level_word(other)),
                };
                let pull = |pull: Newtons| format!("{:.0} N ({:.1} lb)", pull.get(), pull.pounds());
                let after = pull(load.after);
                let gauge = load.gauge.as_ref().map_or_else(|| "an unknown string".to_owned(), Gauge::to_string);
                let _ = match step.from() {
                    Some(_) => writeln!(text, "   {gauge} pulls {}, then {after}{word}", pull(load.before)),
                    None => writeln!(text, "   {gauge} pulls {after} then{word}"),
                };
            }
        }
        if !plan.checks().is_empty() {
            text += "Then check:\n";
            for check in plan.checks() {
                let _ = writeln!(text, "   {}", self.check_sentence(check.how()));
            }
            text += "   The strings set first will have drifted a little.\n";
        }
        let times = match passes {
            0 | 1 => None,
            2 => Some("once more".to_owned()),
            passes => Some(format!("{} more times", passes - 1)),
        };
        if let Some(times) = times {
            let order: Vec<String> = plan.drift().check_order().into_iter().map(|course| self.called(course)).collect();
            let past = match plan.drift().past_share() {
                share if share > 0.0 => ", past its mark by a quarter of what it was off",
                _ => "",
            };
            let order = order.join(" ");
            let _ = writeln!(
                text,
                "Then go round the strings about {times}, each to the tone{past}: {order}. How often is an estimate: one \
                 bridge gives more than another."
            );
        }
        for remedy in plan.safety().remedies() {
            let _ = match remedy {
                Remedy::LowerWithCapo { tuning, capo } => {
                    let lower = notes(&spelled(self.instrument, tuning));
                    writeln!(text, "Instead: {lower} with a capo at {}", self.instrument.fret_name(*capo))
                }
                Remedy::LighterString { course, gauge, .. } => {
                    writeln!(text, "Instead: a string of {gauge} inch for {}", self.called(*course))
                }
            };
        }
        if plan.safety().worst() == Level::TooTight {
            text += "A string may snap: mind your eyes. If in doubt, ask a luthier.\n";
        }
        text
    }

    fn command(&self, step: &Step) -> String {
        let number = self.called(step.course());
        let to = self.to_note(step);
        let Some((from, by)) = step.from().zip(step.semitones()) else { return format!("Set {number} to {to}") };
        let from = self.from.get(step.course().from_lowest_index()).copied().filter(|name| name.pitch() == from);
        let from = from.map(|name| name.to_string()).unwrap_or_default();
        let count = by.abs().get();
        let semitones = if count == 1 { "semitone" } else { "semitones" };
        match by.get() {
            0 => format!("Set {number} to {to}"),
            down if down < 0 => {
                format!("Loosen {number}: {from} down to {to}, {count} {semitones}; go below and come up")
            }
            _ => format!("Tighten {number}: {from} up to {to}, {count} {semitones}"),
        }
    }

    fn side(&self, sounding: Sounding) -> String {
        let number = self.called(sounding.course);
        let fret = self.instrument.fret_name(sounding.fret);
        match sounding.touch {
            Touch::Open => format!("{number} open"),
            Touch::Stopped => format!("{number} at fret {fret}"),
            Touch::Harmonic => format!("{number}, harmonic at {fret}"),
        }
    }

    fn sentence(&self, how: &Match) -> String {
        let old = if how.leans_on_old_pitch() { " as it still is" } else { "" };
        let reference = how.reference().map_or_else(|| "a reference note".to_owned(), |side| self.side(side));
        let (tuned, heard) = (self.side(how.tuned()), heard(how));
        format!(
            "{reference}{old} and {tuned}, {}: {heard}; one a second is {:.1} cents",
            kind(how),
            how.cents_per_beat().get()
        )
    }

    /// What a string of a pair sounds like with the first.
    fn within_sentence(&self, how: &Match) -> String {
        let with = if how.reference().is_some() { "with the first" } else { "with a reference note" };
        let touched = how.reference().into_iter().chain([how.tuned()]).filter(|side| side.touch == Touch::Harmonic);
        let harmonics: String = touched.map(|side| format!(", {}", self.side(side))).collect();
        format!(
            "{with}{harmonics}, {}: {}; one a second is {:.1} cents",
            kind(how),
            heard(how),
            how.cents_per_beat().get()
        )
    }

    /// What two strings that are only checked sound like: nothing is asked to be turned.
    fn check_sentence(&self, how: &Match) -> String {
        let reference = how.reference().map_or_else(|| "a reference note".to_owned(), |side| self.side(side));
        let sounds = match how.counted() {
            None => "no wobble when right".to_owned(),
            Some(beats) => format!("wobbles about {} when right", a_second(beats)),
        };
        format!(
            "{reference} and {}, {}: {sounds}; one a second is {:.1} cents",
            self.side(how.tuned()),
            kind(how),
            how.cents_per_beat().get()
        )
    }
}

const fn kind(how: &Match) -> &'static str {
    match how.kind() {
        MatchKind::Unison | MatchKind::Tone => "the same note",
        MatchKind::Octave => "an octave apart",
        MatchKind::Harmonic => "by harmonics",
    }
}

fn heard(how: &Match) -> String {
    let left_off = how.left_off().get();
    match how.counted() {
        Some(beats) => {
            let side = if how.lean() > Cents::ZERO { "higher" } else { "lower" };
            format!("first no wobble, then a little {side} until {}", a_second(beats))
        }
        None if left_off.abs() < 0.05 => "no wobble when right".to_owned(),
        None => {
            let side = if left_off < 0.0 { "low" } else { "high" };
            format!("leave it without a wobble, {:.1} cents {side}", left_off.abs())
        }
    }
}

fn a_second(beats: BeatRate) -> String {
    match format!("{:.1}", beats.abs().per_second()) {
        one if one == "1.0" => "1 wobble a second".to_owned(),
        count => format!("{count} wobbles a second"),
    }
}

const fn level_word(level: Level) -> &'static str {
    match level {
        Level::Slack => "slack",
        Level::Normal => "normal",
        Level::Tight => "tight",
        Level::TooTight => "may snap",
    }
}
