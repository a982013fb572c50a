//! Choices that hold everywhere: colours, note names, the hand, the reference pitch.

use crate::store::{DiagramSide, Settings, Temperament, Theme};
use crate::theory::{Naming, ReferencePitch, SpellingChoice};

use super::next::Next;

/// What the Settings screen asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum SettingsAction {
    /// Use these colours.
    Theme(Theme),
    /// Call notes by this custom.
    Naming(Naming),
    /// Spell black keys so where no chord or key decides.
    Spelling(SpellingChoice),
    /// Mirror diagrams, or not any more.
    LeftHanded,
    /// Lay diagrams on their side, or stand them up again.
    OnSide,
    /// Move less on the screen, or as before.
    ReducedMotion,
    /// Keep the screen awake while retuning and showing, or not any more.
    StayAwake,
    /// Move A4 by so many hertz, within its range.
    ReferenceBy(i16),
    /// Let a heard string be off by so many cents more, within the range.
    ToleranceBy(i16),
    /// Tune the strings for this.
    Temperament(Temperament),
    /// Use this language; the phone's own when `None`.
    Language(Option<String>),
}

/// Applies a choice.
pub(super) fn update(settings: &mut Settings, action: SettingsAction) -> Next {
    match action {
        SettingsAction::Theme(theme) => settings.theme = theme,
        SettingsAction::Naming(naming) => {
            settings.naming = Some(naming);
            return Next::NotesRenamed;
        }
        SettingsAction::Spelling(spelling) => settings.spelling = spelling,
        SettingsAction::LeftHanded => settings.is_left_handed = !settings.is_left_handed,
        SettingsAction::OnSide => {
            settings.diagram = match settings.diagram {
                DiagramSide::Upright => DiagramSide::OnSide,
                DiagramSide::OnSide => DiagramSide::Upright,
            };
        }
        SettingsAction::ReducedMotion => settings.has_reduced_motion = !settings.has_reduced_motion,
        SettingsAction::StayAwake => settings.stays_awake = !settings.stays_awake,
        SettingsAction::Temperament(temperament) => settings.temperament = temperament,
        SettingsAction::ReferenceBy(hertz) => {
            let wanted = settings.reference().a4().get() + f64::from(hertz);
            if let Some(reference) = ReferencePitch::new(wanted) {
                settings.reference_a4_hz = reference.a4().get();
            }
        }
        SettingsAction::ToleranceBy(cents) => {
            let wanted = settings.listening_tolerance().get().round() + f64::from(cents);
            let range = (Settings::FINEST_TOLERANCE_CENTS, Settings::COARSEST_TOLERANCE_CENTS);
            settings.listening_tolerance_cents = wanted.clamp(range.0, range.1);
        }
        SettingsAction::Language(language) => {
            settings.language = language;
            return Next::NotesRenamed;
        }
    }
    Next::Shown
}
