//! A tuning to hand out: its strings, the way there by ear, what it pulls, and what to mind.

use crate::instrument::{Bridge, CourseIndex, Fret, Gauge, Instrument, Level, Stringing, Strung, Tuning};
use crate::retune::{
    CourseState, MatchKind, Plan, PlanError, PlanRequest, Remedy, Safety, Step, TuningFault, find_faults,
};
use crate::theory::{ReferencePitch, Semitones, SpelledPitch};

use super::Sheet;
use super::compose::{Column, Composer};
use super::names::Names;
use super::paper::SheetOptions;
use super::picture::thickness;
use super::score::Score;
use super::strings::{self, StringMark};

/// What stands on a tuning's sheet.
#[derive(Clone, Debug)]
pub struct TuningSheet<'a> {
    /// The instrument.
    pub instrument: &'a Instrument,
    /// Its strings.
    pub strings: &'a Stringing,
    /// The tuning, as it is spelled.
    pub tuning: &'a Tuning,
    /// Its notes as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What it is called, if it has a name.
    pub name: Option<&'a str>,
    /// The tuning it is reached from, with its name and notes; without one no way is told.
    pub from: Option<FromTuning<'a>>,
    /// The frequency of A4.
    pub a4: ReferencePitch,
    /// How the strings' load is carried.
    pub bridge: Bridge,
    /// Where the capo goes in the end, 0 for none.
    pub capo: Fret,
}

/// Where a way begins.
#[derive(Clone, Debug)]
pub struct FromTuning<'a> {
    /// The tuning.
    pub tuning: &'a Tuning,
    /// Its notes as they are spelled.
    pub spelled: &'a [SpelledPitch],
    /// What it is called, if it has a name.
    pub name: Option<&'a str>,
}

/// Sets a tuning on a page.
///
/// # Errors
/// When no plan can be made: the tunings do not belong to the instrument.
pub fn tuning_sheet(wanted: &TuningSheet<'_>, options: &SheetOptions) -> Result<Sheet, PlanError> {
    let names = Names::new(wanted.instrument, options);
    let notes = names.tuning(wanted.spelled);
    let start = wanted.from.as_ref().map_or(wanted.tuning, |from| from.tuning);
    let now: Vec<CourseState> = start.pitches().iter().map(|&pitch| CourseState::right(pitch)).collect();
    let request = PlanRequest {
        strings: wanted.strings,
        a4: wanted.a4,
        bridge: wanted.bridge,
        ..PlanRequest::new(wanted.instrument, &now, wanted.tuning)
    };
    let plan = Plan::new(&request)?;
    let mut page = Composer::new(options, wanted.name.unwrap_or(&notes));
    page.title();
    page.paragraph(&[page.body(names.stand(None, wanted.spelled, Fret::OPEN))]);
    page.space(page.size.body);
    let marks = marks(wanted, &names);
    let drawing = strings::draw(&names, &marks, page.width, &page.size);
    page.figure(drawing, 0.0);
    if let Some(from) = &wanted.from {
        steps(&mut page, &names, wanted, from, &plan);
    }
    if wanted.capo != Fret::OPEN {
        let fret = wanted.instrument.fret_name(wanted.capo);
        page.paragraph(&[page.strong(names.words.say("put-capo", &[&fret]))]);
    }
    mind(&mut page, &names, wanted, plan.safety());
    pull(&mut page, &names, plan.safety(), wanted.from.is_some());
    let score = Score::of_open_strings(options, wanted.instrument, wanted.spelled, &page_title(wanted, &notes));
    Ok(Sheet { document: page.finish(), score: Some(score) })
}

fn page_title(wanted: &TuningSheet<'_>, notes: &str) -> String {
    wanted.name.unwrap_or(notes).to_owned()
}

fn marks(wanted: &TuningSheet<'_>, names: &Names<'_>) -> Vec<StringMark> {
    let thickness = thickness(wanted.instrument, wanted.strings);
    let mark = |(index, &to): (usize, &SpelledPitch)| {
        let from = wanted.from.as_ref().and_then(|from| from.spelled.get(index)).copied();
        let moved = from.filter(|from| from.pitch() != to.pitch());
        StringMark {
            course: CourseIndex::from_lowest(index),
            to,
            moved: moved.map(|from| (names.options.note(from.note()), to.pitch() - from.pitch())),
            thickness: thickness.get(index).copied().unwrap_or(0.5),
        }
    };
    wanted.spelled.iter().enumerate().map(mark).collect()
}

fn steps(page: &mut Composer<'_>, names: &Names<'_>, wanted: &TuningSheet<'_>, from: &FromTuning<'_>, plan: &Plan) {
    let start = names.tuning(from.spelled);
    let start = from.name.map_or(start.clone(), |name| format!("{name} ({start})"));
    page.heading(&names.words.say("from-step-by-step", &[&start]), 4.0 * page.size.body);
    if plan.steps().is_empty() {
        page.paragraph(&[page.body(names.words.say("nothing-to-turn", &[]))]);
        return;
    }
    let list = page.list();
    for (number, step) in plan.steps().iter().enumerate() {
        let paragraphs = step_words(page, names, wanted, from, step);
        page.item(list, &format!("{}.", number + 1), &paragraphs);
    }
    if !plan.checks().is_empty() {
        page.heading(&names.words.say("then-check", &[]), 3.0 * page.size.body);
        let list = page.list();
        for check in plan.checks() {
            let line = names.check(check.how(), wanted.tuning);
            page.item(list, "•", &[vec![page.body(line)]]);
        }
        page.paragraph(&[page.small(names.words.say("drift", &[]))]);
        let more = plan.drift().passes().saturating_sub(1);
        if more > 0 {
            page.paragraph(&[page.body(names.words.counted(u16::from(more), "round-once", "round-more"))]);
        }
    }
}

fn step_words(
    page: &Composer<'_>,
    names: &Names<'_>,
    wanted: &TuningSheet<'_>,
    from: &FromTuning<'_>,
    step: &Step,
) -> Vec<Vec<super::lines::Span>> {
    let note = |spelled: &[SpelledPitch]| {
        spelled.get(step.course().from_lowest_index()).map(|pitch| names.options.note(pitch.note())).unwrap_or_default()
    };
    let by = step.semitones();
    let way = names.way(&note(from.spelled), &note(wanted.spelled), by.unwrap_or(Semitones::ZERO));
    let command = names.command(step.course(), by);
    let mut first = vec![page.strong(format!("{command}: {way}."))];
    if step.comes_up_from_below() {
        first.push(page.body(format!(" {}", names.words.say("come-up", &[]))));
    }
    let mut paragraphs = vec![first];
    let by_ear = step.matches().iter().filter(|how| how.kind() != MatchKind::Tone);
    let mut ways: Vec<_> = by_ear.take(2).collect();
    if ways.is_empty() {
        ways.extend(step.matches().first());
    }
    for (index, how) in ways.iter().enumerate() {
        let hear = names.hear(how, wanted.tuning, wanted.a4);
        let hear = if index == 0 { hear } else { names.words.say("or", &[&hear]) };
        let mut spans = vec![page.body(hear)];
        if index == 0 {
            let cents = names.words.decimal(how.cents_per_beat().get());
            spans.push(page.body(format!(" {}", names.words.say("cents-a-wobble", &[&cents]))));
        }
        paragraphs.push(spans);
    }
    for within in step.within() {
        let hear = names.hear(&within.how, wanted.tuning, wanted.a4);
        let string = (within.string + 1).to_string();
        paragraphs.push(vec![page.body(names.words.say("within-pair", &[&string, &hear]))]);
    }
    paragraphs
}

/// What each string pulls, as a table.
fn pull(page: &mut Composer<'_>, names: &Names<'_>, safety: &Safety, has_way: bool) {
    page.heading(&names.words.say("pull", &[]), 5.0 * page.size.body);
    let newtons = |pull: f64| format!("{pull:.0} N");
    let mut columns = vec![
        Column { share: 0.28, is_number: false },
        Column { share: 0.2, is_number: false },
        Column { share: 0.15, is_number: true },
    ];
    let mut head = vec![names.words.say("column-string", &[]), names.words.say("column-gauge", &[])];
    if has_way {
        columns.push(Column { share: 0.15, is_number: true });
        head.push(names.words.say("column-before", &[]));
    }
    head.push(names.words.say(if has_way { "column-after" } else { "column-pull" }, &[]));
    let is_strained = safety.strings().iter().any(|load| load.level_after != Level::Normal);
    if is_strained {
        columns.push(Column { share: 1.0 - columns.iter().map(|column| column.share).sum::<f32>(), is_number: false });
        head.push(names.words.say("column-level", &[]));
    }
    let mut rows = vec![head];
    for load in safety.strings() {
        let mut row = vec![names.called(load.course), gauge(names, load.gauge)];
        if has_way {
            row.push(newtons(load.before.get()));
        }
        row.push(newtons(load.after.get()));
        row.push(match load.level_after {
            Level::Normal => String::new(),
            Level::Slack => names.words.say("slack", &[]),
            Level::Tight => names.words.say("tight", &[]),
            Level::TooTight => names.words.say("too-tight", &[]),
        });
        rows.push(row);
    }
    page.table(&columns, &rows);
    page.space(page.size.body * 0.3);
    let (before, after) = (format!("{:.0}", safety.before().get()), format!("{:.0}", safety.after().get()));
    let highest = format!("{:.0}", safety.highest().get());
    let said = if has_way {
        names.words.say("all-pull", &[&after, &before, &highest])
    } else {
        names.words.say("all-pull-now", &[&after])
    };
    page.paragraph(&[page.body(said)]);
}

fn gauge(names: &Names<'_>, gauge: Option<Gauge>) -> String {
    gauge.map_or_else(|| names.words.say("gauge-unknown", &[]), |gauge| names.words.say("inch", &[&gauge.to_string()]))
}

/// What to mind.
fn mind(page: &mut Composer<'_>, names: &Names<'_>, wanted: &TuningSheet<'_>, safety: &Safety) {
    page.heading(&names.words.say("take-care", &[]), 6.0 * page.size.body);
    let faults = Strung::new(wanted.instrument, wanted.strings)
        .map(|strung| find_faults(wanted.instrument, &strung, wanted.tuning, Fret::OPEN, wanted.a4))
        .unwrap_or_default();
    for fault in faults {
        let sentence = match fault {
            TuningFault::Breaks { course, .. } => names.words.say("would-break", &[&course.to_string()]),
            TuningFault::TooTight { course, .. } => names.words.say("would-be-too-tight", &[&course.to_string()]),
            TuningFault::Slack { course } => names.words.say("goes-slack", &[&course.to_string()]),
            TuningFault::Courses { .. } | TuningFault::OutOfRange { .. } | TuningFault::Capo { .. } => continue,
        };
        page.paragraph(&[page.strong(sentence)]);
    }
    if safety.pulls_hard() {
        page.paragraph(&[page.strong(names.words.say("pulls-hard", &[]))]);
    }
    for remedy in safety.remedies() {
        let sentence = match remedy {
            Remedy::LowerWithCapo { tuning, capo } => {
                let notes = names.tuning(&tuning.spelled());
                names.words.say("instead-capo", &[&notes, &wanted.instrument.fret_name(*capo)])
            }
            Remedy::LighterString { course, gauge, .. } => {
                names.words.say("instead-string", &[&names.number(*course), &gauge.to_string()])
            }
        };
        page.paragraph(&[page.body(sentence)]);
    }
    page.space(page.size.body * 0.3);
    page.framed(&[page.body(names.words.say("caution", &[]))]);
}
