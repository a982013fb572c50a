//! What the player chose once for all.

use serde::{Deserialize, Serialize};

use crate::instrument::Bridge;
use crate::songs::UnknownFields;
use crate::theory::{Cents, Naming, ReferencePitch, SpellingChoice};

/// The colours of the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Theme {
    /// As the phone is set.
    #[default]
    System,
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
    /// The strongest contrast, for a screen in the sun.
    Sunlight,
}

/// How a chord diagram stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DiagramSide {
    /// The nut at the top, as in print.
    #[default]
    Upright,
    /// The nut at the side, as the neck lies in the lap.
    OnSide,
}

/// What the strings are tuned for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Temperament {
    /// Every chord alike.
    #[default]
    Equal,
    /// The open chord is pure, where the open strings are one.
    OpenChord,
    /// The first shapes of the key's chords are as pure as they can be together.
    KeyShapes,
}

/// How a song looks while it is played.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct StageLook {
    /// Words larger by so many steps of a tenth; negative means smaller.
    pub words_steps: i8,
    /// Chords larger than words by so many steps.
    pub chords_steps: i8,
    /// Whether the shapes of the chords are put away.
    pub hides_shapes: bool,
    /// Whether a quiet click sounds while a song goes on by itself; off by default.
    pub clicks: bool,
    /// Whether a tune's tab has the thick strings on top, as they lie before the player; off by default.
    pub tab_thick_on_top: bool,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

/// When the whole library was last written for another place, and when to speak of it again. Days count from 1970-01-01,
/// in universal time.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ExportReminder {
    /// The day of the last export of everything.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exported_day: Option<u32>,
    /// The day on which there was first something worth losing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_from_day: Option<u32>,
    /// Nothing is said before this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub put_off_until_day: Option<u32>,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

/// The player's settings. A field that a file does not have takes its default.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// The colours; by default the phone's, so that the app looks at home.
    pub theme: Theme,
    /// How notes are called; as usual in the language until the player chooses.
    ///
    /// Left out of the file while nothing is chosen: 0.1.0 knows no such value, and takes its own default for a gap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub naming: Option<Naming>,
    /// How black keys are called where no chord or key decides; by default the customary mixture.
    pub spelling: SpellingChoice,
    /// Whether diagrams are mirrored; off by default.
    pub is_left_handed: bool,
    /// How diagrams stand; upright by default.
    pub diagram: DiagramSide,
    /// The bridge, where it is not the one the instrument usually has; none by default.
    pub bridge: Option<Bridge>,
    /// The instrument of the catalogue; by default the six-string guitar, which most players have.
    pub instrument_id: String,
    /// The string set of the catalogue; by default the instrument's usual one.
    pub string_set_id: Option<String>,
    /// The frequency of A4 in hertz, 390 to 470; 440 by default (ISO 16).
    pub reference_a4_hz: f64,
    /// The language as a BCP 47 tag such as `de`; by default the phone's.
    pub language: Option<String>,
    /// Whether nothing is animated on the screen; off by default. The phone's own setting is not asked.
    pub has_reduced_motion: bool,
    /// Whether the screen stays on while retuning and while a shape fills it; on by default, the hands being busy.
    pub stays_awake: bool,
    /// What the strings are tuned pure for; equal temperament by default: it suits every chord.
    pub temperament: Temperament,
    /// Whether the first run was gone through or skipped; off by default, and then a player who has kept nothing yet is
    /// led through it.
    pub has_seen_guide: bool,
    /// Whether it was heard once how two strings come together, or skipped; off by default, and then it is offered before the
    /// first step by ear.
    pub has_heard_wobble: bool,
    /// How far off a heard string may be and still count as right, in cents, 1 to 25.
    ///
    /// 2 by default: the least that two tones sounded together can be told apart by (Ellis).
    pub listening_tolerance_cents: f64,
    /// How a song looks while it is played.
    pub stage: StageLook,
    /// Whether the key to a diagram's signs is put away; off by default.
    pub hides_diagram_key: bool,
    /// When the library was last written out whole.
    pub export_reminder: ExportReminder,
    /// What a later version wrote beside these.
    #[serde(flatten)]
    pub unknown: UnknownFields,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            theme: Theme::default(),
            naming: None,
            spelling: SpellingChoice::default(),
            is_left_handed: false,
            diagram: DiagramSide::default(),
            bridge: None,
            instrument_id: "guitar".to_owned(),
            string_set_id: None,
            reference_a4_hz: ReferencePitch::CONCERT_A_HZ,
            language: None,
            has_reduced_motion: false,
            stays_awake: true,
            temperament: Temperament::default(),
            has_seen_guide: false,
            has_heard_wobble: false,
            listening_tolerance_cents: 2.0,
            stage: StageLook::default(),
            hides_diagram_key: false,
            export_reminder: ExportReminder::default(),
            unknown: UnknownFields::new(),
        }
    }
}

impl Settings {
    /// The finest listening tolerance, in cents.
    pub const FINEST_TOLERANCE_CENTS: f64 = 1.0;
    /// The coarsest listening tolerance, in cents: a quarter of a semitone.
    pub const COARSEST_TOLERANCE_CENTS: f64 = 25.0;

    /// Returns what the player chose, without what this device notes for itself.
    #[must_use]
    pub(super) fn of_the_player(&self) -> Self {
        Self { export_reminder: ExportReminder::default(), ..self.clone() }
    }

    /// Returns the reference pitch; concert pitch when the field is out of range.
    #[must_use]
    pub fn reference(&self) -> ReferencePitch {
        ReferencePitch::new(self.reference_a4_hz).unwrap_or_default()
    }

    /// Returns the listening tolerance, drawn into its range.
    #[must_use]
    pub fn listening_tolerance(&self) -> Cents {
        let range = (Self::FINEST_TOLERANCE_CENTS, Self::COARSEST_TOLERANCE_CENTS);
        Cents::new(self.listening_tolerance_cents.clamp(range.0, range.1))
    }

    /// Returns the first field that is out of its range.
    pub(super) fn find_fault(&self) -> Option<&'static str> {
        let tolerance = Self::FINEST_TOLERANCE_CENTS..=Self::COARSEST_TOLERANCE_CENTS;
        if ReferencePitch::new(self.reference_a4_hz).is_none() {
            Some("reference_a4_hz")
        } else if !tolerance.contains(&self.listening_tolerance_cents) {
            Some("listening_tolerance_cents")
        } else {
            None
        }
    }
}
