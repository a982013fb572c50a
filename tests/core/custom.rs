//! How notes are called follows the language of the screens until the player chooses.

use pegwise::app::{Action, SettingsAction, State};
use pegwise::instrument::Language;
use pegwise::store::{Library, Settings};
use pegwise::theory::Naming;

fn speaking(language: Language) -> State {
    let mut state = State::new(Library::default());
    state.system_language = language;
    state
}

#[test]
fn a_phone_names_notes_as_its_language_does_until_the_player_chooses() {
    for (language, naming) in [
        (Language::English, Naming::English),
        (Language::German, Naming::German),
        (Language::Spanish, Naming::Solfege),
        (Language::French, Naming::Solfege),
        (Language::Portuguese, Naming::Solfege),
    ] {
        let mut state = speaking(language);
        assert_eq!(state.naming(), naming, "{language:?}");
        // Another language chosen in the app takes its custom along.
        state.update(Action::Settings(SettingsAction::Language(Some("de".to_owned()))));
        assert_eq!(state.naming(), Naming::German, "{language:?}");
        // What was chosen stays, whatever the language.
        state.update(Action::Settings(SettingsAction::Naming(Naming::English)));
        state.update(Action::Settings(SettingsAction::Language(Some("fr".to_owned()))));
        assert_eq!(state.naming(), Naming::English, "{language:?}");
    }
}

/// 0.1.0 takes a name for an unknown word when it is `null`, and then the whole file for damaged: nothing is written.
#[test]
fn a_custom_that_was_not_chosen_is_not_written_and_one_of_0_1_0_is_a_choice() {
    let text = serde_json::to_string(&Settings::default()).expect("settings are written");
    assert!(!text.contains("naming"), "{text}");
    let read: Settings = serde_json::from_str(r#"{"naming":"german"}"#).expect("settings are read");
    assert_eq!(read.naming, Some(Naming::German));
}
