//! No plan breaks a string unsaid, and none cries wolf: over the catalogue's tunings, the sets that fit, and the entries.

use std::process::Command;

use pegwise::instrument::{
    Catalog, CourseIndex, Fret, Gauge, Instrument, KnownString, Level, Material, StringSet, Stringing, Strung, Tuning,
    strings_asked,
};
use pegwise::retune::{CourseState, Plan, PlanError, PlanRequest};
use pegwise::songs::{Changeover, Stand};
use pegwise::theory::{Cents, ReferencePitch};

use crate::retune::all_right;

fn catalog() -> &'static Catalog {
    Catalog::bundled()
}

fn instrument(id: &str) -> &'static Instrument {
    catalog().find_instrument(id).unwrap_or_else(|| panic!("{id}"))
}

fn set(id: &str) -> &'static StringSet {
    catalog().find_string_set(id).unwrap_or_else(|| panic!("{id}"))
}

fn tuning(id: &str) -> &'static Tuning {
    catalog().find_tuning(id).unwrap_or_else(|| panic!("{id}")).tuning()
}

fn course(number: u8, of: &Instrument) -> CourseIndex {
    CourseIndex::from_player_number(number, of.courses().len()).unwrap()
}

/// The tuning a set is made for.
fn made_for(set: &StringSet) -> &'static Tuning {
    let home = catalog().standard_of(instrument(set.instrument_id()));
    set.tuning_id().map_or(home.tuning(), tuning)
}

fn plan(on: &Instrument, strings: &Stringing, now: &[CourseState], to: &Tuning) -> Result<Plan, PlanError> {
    Plan::new(&PlanRequest { strings, ..PlanRequest::new(on, now, to) })
}

fn doubtful(tuning: &Tuning) -> Vec<CourseState> {
    tuning.pitches().iter().map(|&pitch| CourseState::doubtful(pitch)).collect()
}

/// Runs the program; its exit code, and what it says on either stream.
fn pegwise(args: &[&str]) -> (i32, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_pegwise")).args(args).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), text)
}

// ---- the three faults ----

/// A wound low G at G4 on 432 mm stands far over its strength; that a high G is on is not to be taken for granted.
#[test]
fn the_way_home_from_a_tuning_on_other_strings_asks_which_is_on() {
    let home = ["retune", "--instrument", "tenor-ukulele", "--from", "low G", "--to", "standard"];
    let (code, text) = pegwise(&home);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("which is on as string 4?") && !text.contains("Tighten"), "{text}");
    assert!(text.contains("tenor-ukulele-low-g-set") && text.contains("tenor-ukulele-normal"), "{text}");

    let with = |more: &[&str]| pegwise(&[&home, more].concat());
    let (code, text) = with(&["--strings", "tenor-ukulele-low-g-set"]);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("string 4 (.027w) would break") && text.contains("would hold"), "{text}");
    let (code, text) = with(&["--string", "4=?"]);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("string 4 is not known and could break"), "{text}");
    // The thin string was on all the while, loose: it may go back up.
    for thin in [["--strings", "tenor-ukulele-normal"], ["--string", "4=20"], ["--string", "4=0.51mm"]] {
        let (code, text) = with(&thin);
        assert_eq!(code, 0, "{text}");
        assert!(text.contains("4 to G4") || text.contains("Tighten 4"), "{text}");
    }

    // And the way there.
    let there = ["retune", "--instrument", "tenor-ukulele", "--to", "low G"];
    assert_eq!(pegwise(&there).0, 2);
    let (code, text) = pegwise(&[&there[..], &["--strings", "tenor-ukulele-low-g-set"]].concat());
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("Set 4 to G3"), "a string just put on is at no known pitch: {text}");
}

/// By name or by its notes, on ordinary strings a high-strung tuning is refused alike; on its own set there is a plan.
#[test]
fn a_row_of_the_catalogue_overrides_nothing() {
    let mut refusals = Vec::new();
    for wanted in ["nashville", "High-strung", "E3 A3 D4 G4 B3 E4"] {
        let (code, text) = pegwise(&["retune", "--to", wanted]);
        assert_eq!(code, 2, "{wanted}: {text}");
        assert!(text.contains("guitar-high-strung-set"), "{text}");
        let (code, text) = pegwise(&["retune", "--to", wanted, "--strings", "guitar-light"]);
        assert_eq!(code, 2, "{wanted}: {text}");
        for number in [6, 5, 4, 3] {
            assert!(text.contains(&format!("string {number} (")), "{text}");
        }
        assert!(text.contains("would break") && text.contains("is played on the set guitar-high-strung-set"), "{text}");
        refusals.push(text);
        let (code, text) = pegwise(&["retune", "--to", wanted, "--strings", "guitar-high-strung-set"]);
        assert_eq!(code, 0, "{wanted}: {text}");
        assert!(text.contains("Set 3 to G4") && !text.contains("Tighten"), "{text}");
    }
    assert!(refusals.windows(2).all(|pair| pair[0] == pair[1]), "the same sentence by name and by notes");
    // What nobody listed is refused the same way.
    let (code, text) = pegwise(&["retune", "--to", "E2 A2 D3 G3 B3 B4"]);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("string 1 (.012) would break") && text.contains("no string there would hold"), "{text}");
}

/// What was "too tight, may snap" at 22 % of its strength, "tight" in its own standard tuning, or counted unmoved.
#[test]
fn only_strength_and_only_strings_that_move_warn() {
    let banjo = instrument("five-string-banjo");
    let home = catalog().standard_of(banjo).tuning();
    let medium = set("five-string-banjo-medium").strings();
    let safety = plan(banjo, medium, &doubtful(home), home).unwrap().safety().clone();
    assert!(safety.worst() <= Level::Normal && !safety.pulls_hard() && safety.remedies().is_empty());

    // D6 on nylon stands at 10 to 30 % of its strength: no risk to a face, a quarter more for the neck.
    let ukulele = instrument("soprano-ukulele");
    let normal = set("soprano-ukulele-normal").strings();
    let d6 = plan(ukulele, normal, &all_right(catalog().standard_of(ukulele).tuning()), tuning("soprano-ukulele-d6"));
    let d6 = d6.unwrap().safety().clone();
    assert!(d6.strings().iter().all(|load| load.share_of_strength < 0.4), "{d6:?}");
    assert!(d6.worst() == Level::Normal && d6.pulls_hard());

    // The octave string of a twelve-string stands at about three quarters; one string turned elsewhere leaves it out.
    let twelve = instrument("twelve-string-guitar");
    let light = catalog().strings_of(twelve).strings();
    let home = catalog().standard_of(twelve).tuning();
    let dropped = plan(twelve, light, &all_right(home), tuning("twelve-string-guitar-drop-d")).unwrap();
    assert_eq!(dropped.safety().worst(), Level::Normal);
    let all = plan(twelve, light, &doubtful(home), home).unwrap();
    assert_eq!(all.safety().worst(), Level::Tight);
}

// ---- the law ----

/// The share of the least strength, worked out beside the planner: for plain steel from ASTM A228 as reproduced in
/// `tests/assets/a228.csv` and σ = ρ(2Lf)² with 7850 kg/m³ (from memory); for the rest from the string itself.
pub(crate) fn share(on: &Instrument, strings: &Stringing, index: usize, string: usize, hertz: f64) -> f64 {
    let known = strings.courses()[index][string].unwrap();
    let scale = strings.scale_mm().unwrap_or(on.scale_mm());
    let length_mm = scale * 2_f64.powf(-f64::from(on.courses()[index].starts_at().get()) / 12.0);
    let is_steel = matches!(known.material, Material::Bronze | Material::Nickel | Material::Steel);
    if is_steel && !known.gauge.is_wound() {
        let stress_mpa = 7850.0 * (2.0 * length_mm / 1000.0 * hertz).powi(2) / 1e6;
        return stress_mpa / a228_mpa(known.gauge.diameter_mm());
    }
    let hertz = pegwise::theory::Hertz::new(hertz).unwrap();
    pegwise::instrument::MountedString::new(known.gauge, known.material, length_mm).unwrap().share_of_strength(hertz)
}

fn a228_mpa(mm: f64) -> f64 {
    static ROWS: std::sync::LazyLock<Vec<(f64, f64)>> = std::sync::LazyLock::new(|| {
        let table = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/assets/a228.csv")).unwrap();
        let cells = |row: &str| row.split(',').map(|cell| cell.parse().unwrap()).collect::<Vec<f64>>();
        table.lines().skip(1).map(|row| (cells(row)[1], cells(row)[4])).collect()
    });
    let above = ROWS.iter().position(|row| row.0 >= mm).unwrap_or(ROWS.len() - 1).max(1);
    let ((thin, strong), (thick, weak)) = (ROWS[above - 1], ROWS[above]);
    (strong + (weak - strong) * (mm - thin) / (thick - thin)).min(ROWS[0].1)
}

/// Over all pairs of tunings an instrument can take and all sets made for it: a plan is made where no string that moves
/// reaches its strength, and only there; from 80 % on a step says that the string may snap. The target is the same value
/// whether it came as a row, as notes, as an own tuning or from a file.
#[test]
fn no_plan_breaks_a_string_unsaid() {
    let (mut plans, mut refused, mut warned) = (0, 0, 0);
    for on in catalog().instruments() {
        let tunings = catalog().tunings_for(on);
        for (nth, set) in catalog().string_sets_of(on).enumerate() {
            for (one, from) in tunings.iter().enumerate() {
                for (two, to) in tunings.iter().enumerate() {
                    // Every pair on the usual strings of the instruments with few tunings; else one pair in seven a set.
                    if tunings.len() > 20 && (one + two + nth) % 7 != 0 {
                        continue;
                    }
                    let now = all_right(from.tuning());
                    let made = plan(on, set.strings(), &now, to.tuning());
                    let moved = (0..now.len()).filter(|&index| now[index].pitch() != to.tuning().pitches()[index]);
                    let strings = moved.flat_map(|index| {
                        let offsets = on.courses()[index].offsets().iter().enumerate();
                        offsets.map(move |(string, &offset)| (index, string, offset))
                    });
                    let shares: Vec<(usize, usize, f64)> = strings
                        .map(|(index, string, offset)| {
                            let number = to.tuning().pitches()[index].transpose(offset).unwrap().number();
                            let hertz = 440.0 * 2_f64.powf((f64::from(number) - 69.0) / 12.0);
                            (index, string, share(on, set.strings(), index, string, hertz))
                        })
                        .collect();
                    let what = || format!("{} to {} on {}", from.id(), to.id(), set.id());
                    // A hair's breadth on either side is the table's rounding.
                    if shares.iter().any(|row| (row.2 - 1.0).abs() < 1e-3 || (row.2 - 0.8).abs() < 1e-3) {
                        continue;
                    }
                    match made {
                        Ok(made) => {
                            plans += 1;
                            assert!(shares.iter().all(|row| row.2 < 1.0), "{}: {shares:?}", what());
                            for (index, string, share) in shares {
                                let course = CourseIndex::from_lowest(index);
                                let loads = made.safety().strings();
                                let load = loads.iter().find(|load| (load.course, load.string) == (course, string));
                                let load = load.unwrap();
                                assert!((load.share_of_strength - share).abs() < 2e-3, "{}: {load:?} {share}", what());
                                assert_eq!(load.level_after == Level::TooTight, share >= 0.8, "{}: {load:?}", what());
                                warned += usize::from(share >= 0.8);
                            }
                            let unmoved = made.safety().strings().iter().filter(|load| !load.moves);
                            assert!(unmoved.into_iter().all(|load| load.level_after == Level::Normal));
                        }
                        Err(PlanError::Breaks(refusal)) => {
                            refused += 1;
                            let broken: Vec<(usize, usize)> =
                                shares.iter().filter(|row| row.2 >= 1.0).map(|row| (row.0, row.1)).collect();
                            let said = refusal.breaks().iter();
                            let said: Vec<(usize, usize)> =
                                said.map(|one| (one.course.from_lowest_index(), one.string)).collect();
                            assert_eq!(said, broken, "{}: {refusal}", what());
                            // What is offered instead holds.
                            for one in refusal.breaks() {
                                let Some(gauge) = one.instead else { continue };
                                let index = one.course.from_lowest_index();
                                let material = set.material();
                                let other = KnownString { gauge, material };
                                let changed = set.strings().clone().with_string(one.course, one.string, other);
                                let offset = on.courses()[index].offsets()[one.string];
                                let number = to.tuning().pitches()[index].transpose(offset).unwrap().number();
                                let hertz = 440.0 * 2_f64.powf((f64::from(number) - 69.0) / 12.0);
                                assert!(share(on, &changed, index, one.string, hertz) < 0.8, "{}: {gauge}", what());
                            }
                        }
                        Err(other) => panic!("{}: {other}", what()),
                    }
                }
            }
        }
    }
    println!("{plans} plans, {refused} refused, {warned} steps that say that a string may snap");
    assert!(plans > 50_000 && refused > 1_000 && warned > 100, "{plans} {refused} {warned}");
}

/// The 87 moves up by 5 to 12 semitones between rows of the catalogue that were called normal or tight: where the two
/// rows are played on different strings the player is asked; where not, the strings that are on really bear it.
#[test]
fn a_long_way_up_is_asked_about_or_borne() {
    let (mut asked, mut borne, mut refused) = (0, 0, 0);
    for on in catalog().instruments() {
        let tunings = catalog().tunings_for(on);
        for from in &tunings {
            for to in &tunings {
                let up = |index: usize| {
                    i16::from(to.tuning().pitches()[index].number())
                        - i16::from(from.tuning().pitches()[index].number())
                };
                let far: Vec<CourseIndex> = (0..from.tuning().courses())
                    .filter(|&index| up(index) >= 5)
                    .map(CourseIndex::from_lowest)
                    .collect();
                if far.is_empty() {
                    continue;
                }
                let set = catalog().strings_for(on, from.tuning()).unwrap_or_else(|| catalog().strings_of(on));
                let a4 = ReferencePitch::default();
                let question = strings_asked(on, set.strings(), from.tuning(), to.tuning(), a4);
                let wanted = catalog().strings_for(on, to.tuning());
                for &course in &far {
                    let index = course.from_lowest_index();
                    let same = wanted
                        .is_some_and(|wanted| wanted.strings().courses()[index] == set.strings().courses()[index]);
                    if question.as_ref().is_some_and(|question| question.courses.contains(&course)) {
                        asked += 1;
                        continue;
                    }
                    assert!(same, "{} to {}: {course:?} is not asked about", from.id(), to.id());
                    match plan(on, set.strings(), &all_right(from.tuning()), to.tuning()) {
                        Err(PlanError::Breaks(_)) => refused += 1,
                        Ok(made) => {
                            borne += 1;
                            let loads = made.safety().strings().iter().filter(|load| load.course == course);
                            assert!(loads.into_iter().all(|load| load.share_of_strength < 1.0));
                        }
                        Err(other) => panic!("{other}"),
                    }
                }
            }
        }
    }
    println!(
        "moves up by five semitones or more: {asked} asked about, {refused} refused, {borne} borne by the strings on"
    );
    assert!(asked > 80, "{asked}");
}

// ---- and the reverse ----

/// Strings that stand near their limit in the tuning they are made for, and why; common practice.
const NEAR_THEIR_LIMIT: [(&str, u8, &str); 16] = [
    ("baroque-guitar-gut", 1, "gut is strung close to what it stands, the lute players' rule"),
    ("renaissance-lute-gut", 1, "gut is strung close to what it stands, the lute players' rule"),
    ("renaissance-lute-gut", 4, "the octave string in gut"),
    ("domra-four-string-light", 1, "E5 on 400 mm: no plain string of any gauge stands lower"),
    ("tahitian-ukulele-normal", 2, "E5 on fluorocarbon"),
    ("tenor-banjo-light", 1, "A4 on 584 mm: it breaks there first"),
    ("tenor-guitar-light", 1, "A4 on 584 mm: it breaks there first"),
    ("twelve-string-guitar-light", 3, "the octave G4: it breaks there first"),
    ("high-strung-guitar-light", 3, "the octave G4"),
    ("guitar-high-strung-set", 3, "the octave G4"),
    ("electric-guitar-high-strung", 3, "the octave G4"),
    ("electric-guitar-floating-high-strung", 3, "the octave G4"),
    ("resonator-guitar-high-strung", 3, "the octave G4"),
    ("cittern-five-course-gdada-set", 1, "A4 on 540 mm"),
    ("pedal-steel-guitar-regular", 3, "G sharp 4 on 610 mm: it breaks there first"),
    ("prima-balalaika-folk-set", 1, "D5 on nylon"),
];
const NEAR_THEIR_LIMIT_ON_TOP: [(&str, u8, &str); 4] = [
    ("guitar-fifths", 1, "G4 on a guitar"),
    ("electric-guitar-fifths", 1, "G4 on a guitar"),
    ("electric-guitar-floating-fifths", 1, "G4 on a guitar"),
    ("venezuelan-cuatro-high-b-set", 1, "B4 on nylon"),
];

/// No set warns in the tuning it is made for, every string set anew: neither tight, nor may it snap, nor slack, nor hard
/// on the neck; but for the strings named above, of which only gut may snap.
#[test]
fn no_set_warns_in_the_tuning_it_is_made_for() {
    let mut excused: Vec<(&str, u8)> = Vec::new();
    for set in catalog().string_sets() {
        let on = instrument(set.instrument_id());
        assert!(set.strings().fits(on), "{}", set.id());
        let home = made_for(set);
        let made =
            plan(on, set.strings(), &doubtful(home), home).unwrap_or_else(|error| panic!("{}: {error}", set.id()));
        assert!(!made.safety().pulls_hard(), "{}", set.id());
        for load in made.safety().strings() {
            let number = load.course.player_number(on.courses().len());
            let exceptions = NEAR_THEIR_LIMIT.iter().chain(&NEAR_THEIR_LIMIT_ON_TOP);
            let excuse = exceptions.clone().find(|row| (row.0, row.1) == (set.id(), number));
            if load.level_after != Level::Normal {
                assert!(excuse.is_some(), "{} {number}: {load:?}", set.id());
                assert!(load.level_after == Level::Tight || set.material() == Material::Gut, "{load:?}");
                excused.push((set.id(), number));
            }
        }
    }
    for row in NEAR_THEIR_LIMIT.iter().chain(&NEAR_THEIR_LIMIT_ON_TOP) {
        assert!(excused.contains(&(row.0, row.1)), "{row:?} needs no excuse");
    }
}

/// Deliberately slack: `use` says so.
const SLACK_ON_PURPOSE: [(&str, u8); 4] =
    [("guitar-daddad", 3), ("guitar-eeeebe", 5), ("guitar-open-e5-low", 5), ("mandolin-gdgb", 1)];

/// A row names a set where the usual strings would go slack or may snap, or where its words say that it needs others; on
/// that set nothing goes slack, breaks or may snap. Every other row does with the usual strings.
#[test]
fn a_tuning_that_needs_other_strings_names_its_set() {
    let mut named = 0;
    for row in catalog().tunings() {
        let on = instrument(row.instrument_id());
        let worn = row.strings_id().map_or_else(|| catalog().strings_of(on), set);
        assert_eq!(worn.instrument_id(), on.id(), "{}", row.id());
        assert_eq!(catalog().strings_for(on, row.tuning()).map(StringSet::id), Some(worn.id()), "{}", row.id());
        let levels = |set: &StringSet| -> Vec<(u8, Level)> {
            let strung = Strung::new(on, set).unwrap();
            let courses = row.tuning().pitches().iter().enumerate();
            courses
                .flat_map(|(index, &pitch)| {
                    let course = CourseIndex::from_lowest(index);
                    let number = course.player_number(on.courses().len());
                    let a4 = ReferencePitch::default();
                    let strains: Vec<_> = strung.strains(course, pitch, Cents::ZERO, a4).collect();
                    strains.into_iter().map(move |strain| (number, strain.level))
                })
                .filter(|(number, _)| !SLACK_ON_PURPOSE.contains(&(row.id(), *number)))
                .collect()
        };
        let is_off = |level: Level| matches!(level, Level::Slack | Level::TooTight);
        let gut_or_listed = |number: u8| NEAR_THEIR_LIMIT.iter().any(|one| (one.0, one.1) == (worn.id(), number));
        for (number, level) in levels(worn) {
            assert!(!is_off(level) || gut_or_listed(number), "{} {number} on {}: {level:?}", row.id(), worn.id());
        }
        let needs = row.used_for().contains("needs");
        assert!(!needs || row.strings_id().is_some(), "{} says that it needs other strings", row.id());
        if row.strings_id().is_some() {
            named += 1;
            let usual = levels(catalog().strings_of(on));
            assert!(needs || usual.iter().any(|(_, level)| is_off(*level)), "{} does with the usual set", row.id());
            assert!(row.used_for().contains("needs") || row.used_for().contains("wants") || usual.len() > 1);
        }
    }
    assert!(named >= 30, "{named}");
}

/// What a set pulls in its own tuning, in newtons a string: ranges of the trade, from memory.
#[test]
fn the_sets_pull_as_strings_do() {
    for set in catalog().string_sets() {
        let on = instrument(set.instrument_id());
        let strung = Strung::new(on, set).unwrap();
        let is_steel = matches!(set.material(), Material::Bronze | Material::Nickel | Material::Steel);
        let range = match (is_steel, on.scale_mm() > 750.0) {
            (true, true) => 50.0..=245.0,
            (true, false) => 40.0..=185.0,
            (false, _) => 20.0..=115.0,
        };
        for (index, &pitch) in made_for(set).pitches().iter().enumerate() {
            let course = CourseIndex::from_lowest(index);
            for strain in strung.strains(course, pitch, Cents::ZERO, ReferencePitch::default()) {
                let pull = strain.pull.get();
                assert!(range.contains(&pull), "{} {}: {pull:.0} N", set.id(), index + 1);
            }
        }
    }
}

// ---- strings by course ----

#[test]
fn a_changed_string_is_kept_and_judged_by_itself() {
    let guitar = catalog().guitar();
    let light = catalog().strings_of(guitar).strings();
    let third = course(3, guitar);
    let plain = KnownString { gauge: Gauge::read("0.46 mm").unwrap(), material: Material::Bronze };
    let changed = light.clone().with_string(third, 0, plain);
    assert_eq!(changed.differing(light), [third]);
    assert_eq!(changed.set_id(), Some("guitar-light"));
    let kept = serde_json::to_string(&changed).unwrap();
    assert_eq!(serde_json::from_str::<Stringing>(&kept).unwrap(), changed);
    // A wound third string at C4 would break (1.78 times its pull at G3 on 58 %); a plain one bears it.
    let standard = catalog().standard_of(guitar).tuning();
    let raised = Tuning::read("E2 A2 D3 C4 B3 E4", standard).unwrap();
    let refused = plan(guitar, light, &all_right(standard), &raised).unwrap_err();
    let PlanError::Breaks(refusal) = &refused else { panic!("{refused}") };
    assert_eq!((refusal.breaks().len(), refusal.breaks()[0].number), (1, 3));
    let instead = refusal.breaks()[0].instead.unwrap();
    assert!(!instead.is_wound(), "{instead}");
    assert!(plan(guitar, &changed, &all_right(standard), &raised).is_ok());
    assert!(
        plan(
            guitar,
            &light.clone().with_string(third, 0, KnownString { gauge: instead, ..plain }),
            &all_right(standard),
            &raised
        )
        .is_ok()
    );
}

/// Rubbish is not taken in: gauges, counts and scales are checked.
#[test]
fn what_is_kept_of_strings_is_checked() {
    for bad in [
        r#"{"courses":[]}"#,
        r#"{"courses":[[]]}"#,
        r#"{"courses":[[{"mm":9.0,"material":"steel"}]]}"#,
        r#"{"courses":[[{"mm":-1.0,"material":"steel"}]]}"#,
        r#"{"courses":[[{"mm":0.3,"material":"cheese"}]]}"#,
        r#"{"courses":[[null]],"scale_mm":3.0}"#,
    ] {
        assert!(serde_json::from_str::<Stringing>(bad).is_err(), "{bad}");
    }
    let some = serde_json::from_str::<Stringing>(r#"{"courses":[[null],[{"mm":0.3,"material":"steel"}]]}"#).unwrap();
    assert!(!some.is_known(CourseIndex::from_lowest(0)) && some.is_known(CourseIndex::from_lowest(1)));
    assert!(!some.fits(catalog().guitar()));
    let odd = Strung::new(catalog().guitar(), &some).unwrap_err();
    assert_eq!(odd.course, CourseIndex::from_lowest(2));
}

/// An unknown string is taken for the worst that any set puts in its place: up is refused or said, down is not, and where
/// it stays it does not count.
#[test]
fn a_string_that_is_not_known_is_taken_at_its_worst() {
    let ukulele = instrument("tenor-ukulele");
    let fourth = course(4, ukulele);
    let unknown = catalog().strings_of(ukulele).strings().clone().with_unknown(fourth);
    let (low, high) = (tuning("tenor-ukulele-low-g"), tuning("tenor-ukulele-standard"));
    let PlanError::Breaks(refusal) = plan(ukulele, &unknown, &all_right(low), high).unwrap_err() else { panic!() };
    assert_eq!((refusal.breaks()[0].number, refusal.breaks()[0].gauge), (4, None));
    let down = plan(ukulele, &unknown, &all_right(high), low).unwrap();
    assert_eq!(down.safety().worst(), Level::Normal);
    assert_eq!(down.safety().strings()[0].gauge, None);
    let elsewhere = plan(ukulele, &unknown, &all_right(high), tuning("tenor-ukulele-open-c")).unwrap();
    assert_eq!(elsewhere.safety().worst(), Level::Normal);
    // No set's string in that place bears more than what is told of the unknown one.
    for on in catalog().instruments() {
        let blank = Strung::new(on, &Stringing::unknown(on)).unwrap();
        let a4 = ReferencePitch::default();
        for set in catalog().string_sets_of(on) {
            let strung = Strung::new(on, set).unwrap();
            for (index, &pitch) in catalog().standard_of(on).tuning().pitches().iter().enumerate() {
                let at = CourseIndex::from_lowest(index);
                let worst: Vec<f64> =
                    blank.strains(at, pitch, Cents::ZERO, a4).map(|one| one.share_of_strength).collect();
                for (known, worst) in strung.strains(at, pitch, Cents::ZERO, a4).zip(worst) {
                    assert!(known.share_of_strength <= worst + 1e-12, "{} {index}", set.id());
                }
            }
        }
    }
}

/// T and σ go with the square of the length: on 610 mm a string bears (610/650)² of what it bears on 650 mm.
#[test]
fn another_scale_length_is_reckoned_with() {
    let guitar = catalog().guitar();
    let light = catalog().strings_of(guitar).strings();
    let first = course(1, guitar);
    let pitch = catalog().standard_of(guitar).tuning().pitches()[5];
    let share = |on: &Stringing| {
        let strung = Strung::new(guitar, on).unwrap();
        let strain = strung.strains(first, pitch, Cents::ZERO, ReferencePitch::default()).next().unwrap();
        (strain.share_of_strength, strain.share_of_made_for.unwrap())
    };
    let (usual, short) = (share(light), share(&light.clone().with_scale_mm(Some(610.0))));
    assert!((short.0 / usual.0 - (610.0 / guitar.scale_mm()).powi(2)).abs() < 1e-9);
    assert!((short.1 - 1.0).abs() < 1e-9, "a short neck is judged by what its own strings pull there");
    assert_eq!(light.clone().with_scale_mm(Some(9.0)).scale_mm(), None);
    let (code, text) = pegwise(&["retune", "--to", "dadgad", "--scale", "9"]);
    assert_eq!(code, 2);
    assert!(text.contains("expected a scale from 200 to 1300 mm"), "{text}");
    assert_eq!(pegwise(&["retune", "--to", "dadgad", "--scale", "610"]).0, 0);
}

/// Extra heavy strings, meant for B, brought up to E pull 1.78 times as hard (two to the power of ten twelfths).
#[test]
fn the_neck_is_another_matter_than_the_string() {
    let guitar = catalog().guitar();
    let heavy = set("guitar-heavy-b").strings();
    let (low, standard) = (tuning("guitar-b-standard"), catalog().standard_of(guitar).tuning());
    let up = plan(guitar, heavy, &all_right(low), standard).unwrap();
    assert!(up.safety().pulls_hard());
    let down = plan(guitar, heavy, &all_right(standard), low).unwrap();
    assert!(!down.safety().pulls_hard(), "it is being eased");
    let (code, text) = pegwise(&["retune", "--from", "b standard", "--to", "standard", "--strings", "guitar-heavy-b"]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("pull hard on the neck"), "{text}");
    // A set one size heavier in standard tuning is what necks are made for.
    let medium = set("guitar-medium").strings();
    assert!(!plan(guitar, medium, &doubtful(standard), standard).unwrap().safety().pulls_hard());
}

// ---- songs ----

/// Between songs on different strings the change is more than a few turns of a peg, and a song whose tuning would break a
/// string cannot be reached.
#[test]
fn a_song_on_other_strings_is_not_a_matter_of_turning_pegs() {
    let ukulele = instrument("tenor-ukulele");
    let strung = Strung::new(ukulele, catalog().strings_of(ukulele)).unwrap();
    let a4 = ReferencePitch::default();
    let stand = |on: &Instrument, pitches: &Tuning| Stand {
        instrument_id: on.id().to_owned(),
        pitches: pitches.clone(),
        capo: Fret::OPEN,
    };
    let high = stand(ukulele, tuning("tenor-ukulele-standard"));
    let low = stand(ukulele, tuning("tenor-ukulele-low-g"));
    let open = stand(ukulele, tuning("tenor-ukulele-open-c"));
    for (from, to) in [(&high, &low), (&low, &high)] {
        let way = Changeover::between_songs(&strung, from, to, a4);
        assert_eq!(way.restrung, [course(4, ukulele)]);
        assert!(way.seconds() >= 90, "{}", way.seconds());
    }
    let near = Changeover::between_songs(&strung, &high, &open, a4);
    assert!(near.restrung.is_empty() && !near.breaks);
    let guitar = catalog().guitar();
    let strung = Strung::new(guitar, catalog().strings_of(guitar)).unwrap();
    let standard = stand(guitar, catalog().standard_of(guitar).tuning());
    let nashville = stand(guitar, tuning("guitar-high-strung"));
    let way = Changeover::between_songs(&strung, &standard, &nashville, a4);
    assert!(way.breaks && way.restrung.len() == 4, "{way:?}");
}

/// Levels over the catalogue, each row from its instrument's standard tuning on the usual strings; for `FIGURES.md`.
#[test]
#[ignore = "prints figures"]
fn print_the_warnings_of_the_catalogue() {
    let (mut refused, mut may_snap, mut tight, mut slack, mut hard, mut asks) = (0, 0, 0, 0, 0, 0);
    for row in catalog().tunings() {
        let on = instrument(row.instrument_id());
        let usual = catalog().strings_of(on).strings();
        let standard = catalog().standard_of(on).tuning();
        asks += usize::from(strings_asked(on, usual, standard, row.tuning(), ReferencePitch::default()).is_some());
        match plan(on, usual, &all_right(standard), row.tuning()) {
            Err(_) => refused += 1,
            Ok(made) => {
                let has = |level: Level| made.safety().strings().iter().any(|load| load.level_after == level);
                may_snap += usize::from(has(Level::TooTight));
                tight += usize::from(has(Level::Tight) && !has(Level::TooTight));
                slack += usize::from(has(Level::Slack) && made.safety().worst() < Level::Tight);
                hard += usize::from(made.safety().pulls_hard());
            }
        }
    }
    let all = catalog().tunings().len();
    println!("of {all}: refused {refused}, may snap {may_snap}, tight {tight}, slack {slack}, hard on the neck {hard}");
    println!("asks which strings are on: {asks}");
}
