//! The Settings screen.

use crate::app::guide::Lesson;
use crate::app::shapes::Labels;
use crate::app::{State, ui};
use crate::instrument::Language;
use crate::store::{DiagramSide, Settings, Temperament, Theme};
use crate::theory::{Naming, PitchClass, ReferencePitch, SpellingChoice};

use super::custom::{Custom, whole};
use super::diagram::{Drawing, diagram};
use super::marks::{marks, spelled};
use super::rows;

/// Fills the Settings screen.
pub(in crate::app) fn show_settings(state: &State, to: &ui::SettingsState<'_>) {
    let settings = &state.library.settings;
    to.set_theme(theme(settings.theme));
    to.set_naming(match state.naming() {
        Naming::English => ui::NoteNaming::English,
        Naming::German => ui::NoteNaming::German,
        Naming::Solfege => ui::NoteNaming::Solfege,
    });
    to.set_accidentals(match settings.spelling {
        SpellingChoice::Customary => ui::Accidentals::ByKey,
        SpellingChoice::Sharps => ui::Accidentals::Sharps,
        SpellingChoice::Flats => ui::Accidentals::Flats,
    });
    to.set_left_handed(settings.is_left_handed);
    to.set_diagrams_on_side(settings.diagram == DiagramSide::OnSide);
    to.set_reduced_motion(state.has_less_motion());
    to.set_system_reduces_motion(state.system_wants_less_motion);
    to.set_stay_awake(settings.stays_awake);
    let a4 = settings.reference().a4().get();
    to.set_reference_hz(whole(a4).into());
    to.set_reference_can_rise(ReferencePitch::new(a4 + 1.0).is_some());
    to.set_reference_can_fall(ReferencePitch::new(a4 - 1.0).is_some());
    let tolerance = settings.listening_tolerance().get();
    to.set_tolerance_cents(super::custom::decimal(tolerance).into());
    to.set_tolerance_can_rise(tolerance < Settings::COARSEST_TOLERANCE_CENTS);
    to.set_tolerance_can_fall(tolerance > Settings::FINEST_TOLERANCE_CENTS);
    to.set_temperament(match settings.temperament {
        Temperament::Equal => ui::Temperament::Equal,
        Temperament::OpenChord => ui::Temperament::SweetOpenChord,
        Temperament::KeyShapes => ui::Temperament::SweetShapes,
    });
    let system = ui::LanguageChoice { code: "".into(), name: "".into(), chosen: settings.language.is_none() };
    let languages = Language::ALL.map(|language| ui::LanguageChoice {
        code: language.code().into(),
        name: language.own_name().into(),
        chosen: settings.language.as_deref() == Some(language.code()),
    });
    to.set_languages(rows(std::iter::once(system).chain(languages)));
    let names: Vec<String> = PitchClass::all()
        .map(|class| crate::theory::Note::of_class(class, settings.spelling).named(state.naming()))
        .collect();
    to.set_sample(names.join(" ").into());
    to.set_sample_marks(rows(marks(state, &spelled(state, &state.guitar.tuning()))));
    to.set_can_guide(Lesson::find(state).is_some());
    let Some(found) = state.shapes.shape() else {
        to.set_sample_chord("".into());
        return;
    };
    let drawing = Drawing {
        shape: found.shape(),
        fingering: found.fingering(),
        chord: found.chord(),
        thumb: [None, None],
        reach: Vec::new(),
        labels: Labels::Note,
        style: state.shapes.style,
    };
    to.set_sample_diagram(diagram(state, &state.board(), &drawing));
    to.set_sample_chord(Custom::of(state).chord(found.chord()).into());
}

/// The colours as Slint names them.
pub(in crate::app) const fn theme(theme: Theme) -> ui::ThemeChoice {
    match theme {
        Theme::System => ui::ThemeChoice::System,
        Theme::Light => ui::ThemeChoice::Light,
        Theme::Dark => ui::ThemeChoice::Dark,
        Theme::Sunlight => ui::ThemeChoice::Sunlight,
    }
}
