//! What the player is told: the one place that turns a notice into a message.

use crate::app::notice::Notice;
use crate::app::ui::{MessageId, MessageView};
use crate::app::{State, line};
use crate::store::SaveError;

/// Turns the notice into a message; none into the empty one.
pub(in crate::app) fn show_notice(state: &State) -> MessageView {
    let message = |id: MessageId, found: &str, expected: String| MessageView {
        id,
        found: found.into(),
        expected: expected.into(),
        can_undo: state.undo.is_some(),
        passes: state.notice.as_ref().is_some_and(Notice::passes),
    };
    match state.notice.as_ref() {
        None => message(MessageId::None, "", String::new()),
        Some(Notice::LibraryDamaged(name)) => message(MessageId::LibraryDamaged, name, String::new()),
        Some(Notice::LibraryRestored(name)) => message(MessageId::LibraryRestored, name, String::new()),
        Some(Notice::LibraryNewer) => message(MessageId::LibraryNewer, "", String::new()),
        Some(Notice::LibraryMissing) => message(MessageId::LibraryMissing, "", String::new()),
        Some(Notice::LibraryUnreachable(why)) => message(MessageId::LibraryUnreachable, why, String::new()),
        Some(Notice::NoPlaceForLibrary) => message(MessageId::NoPlace, "", String::new()),
        Some(Notice::SetAside(name)) => message(MessageId::SetAside, name, String::new()),
        Some(Notice::PartsSetAside(count)) => message(MessageId::PartsSetAside, &count.to_string(), String::new()),
        Some(Notice::PartsGivenBack(count)) => message(MessageId::PartsGivenBack, &count.to_string(), String::new()),
        Some(Notice::Restored) => message(MessageId::Restored, "", String::new()),
        Some(Notice::TextCut(most)) => {
            message(MessageId::TextCut, &most.map(|most| most.to_string()).unwrap_or_default(), String::new())
        }
        Some(Notice::SaveFailed(SaveError::DiskFull)) => message(MessageId::SaveNoRoom, "", String::new()),
        Some(Notice::SaveFailed(SaveError::NotAllowed { .. })) => message(MessageId::SaveNotAllowed, "", String::new()),
        Some(Notice::SaveFailed(SaveError::TooLarge { .. })) => message(MessageId::SaveTooLarge, "", String::new()),
        Some(Notice::SaveFailed(SaveError::Newer { .. })) => message(MessageId::LibraryNewer, "", String::new()),
        Some(Notice::SaveFailed(SaveError::Disk { message: why })) => {
            message(MessageId::SaveFailed, why, String::new())
        }
        Some(Notice::StringWouldBreak(course)) => {
            message(MessageId::StringWouldBreak, &course.to_string(), String::new())
        }
        Some(Notice::PitchOutOfRange(course)) => {
            message(MessageId::PitchOutOfRange, &course.to_string(), "C-1–G9".to_owned())
        }
        Some(Notice::CapoBeyondFrets { asked, highest }) => {
            message(MessageId::CapoBeyondFrets, &asked.to_string(), format!("0–{highest}"))
        }
        Some(Notice::SongDeleted(title) | Notice::TuningDeleted(title)) => {
            message(MessageId::SongDeleted, &line(title), String::new())
        }
        Some(Notice::SetListDeleted(title)) => message(MessageId::SetListDeleted, &line(title), String::new()),
        Some(Notice::TakenOut(title)) => message(MessageId::TakenOut, &line(title), String::new()),
        Some(Notice::SongChanged(title)) => message(MessageId::SongChanged, &line(title), String::new()),
        Some(Notice::SetListOrdered(title)) => message(MessageId::SetListOrdered, &line(title), String::new()),
        Some(Notice::ShapeUsed { chord, title }) => {
            message(MessageId::ShapeUsed, &line(title), super::custom::Custom::of(state).chord(*chord))
        }
        Some(Notice::FavouriteOff { chord, frets }) => {
            message(MessageId::FavouriteOff, frets, super::custom::Custom::of(state).chord(*chord))
        }
        Some(Notice::TakenIn(number)) => message(MessageId::TakenIn, &number.to_string(), String::new()),
    }
}
