//! The words a player may not know, told where they stand.

use super::next::Next;

/// A word that is explained where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Term {
    /// A beat between two notes.
    Wobble,
    /// A natural harmonic.
    Harmonic,
    /// The hundredth part of a semitone.
    Cents,
    /// Two strings played as one.
    Pair,
    /// A string that keeps sounding its note.
    Drone,
    /// Going over all strings once more.
    Round,
    /// A string under too little tension.
    Slack,
}

impl Term {
    /// All of them, in the order they are told in one after the other.
    pub const ALL: [Self; 7] =
        [Self::Wobble, Self::Harmonic, Self::Cents, Self::Pair, Self::Drone, Self::Round, Self::Slack];
}

/// What is done with an explanation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExplainAction {
    /// The word is tapped: it is explained, or no longer if it was.
    Tap(Term),
    /// The explanation is put away.
    Close,
}

pub(super) fn update(open: &mut Option<Term>, action: ExplainAction) -> Next {
    *open = match action {
        ExplainAction::Tap(term) => Some(term).filter(|term| *open != Some(*term)),
        ExplainAction::Close => None,
    };
    Next::Shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_explained_once_and_again_later() {
        let mut open = None;
        for (action, expected) in [
            (ExplainAction::Tap(Term::Cents), Some(Term::Cents)),
            (ExplainAction::Tap(Term::Cents), None),
            (ExplainAction::Tap(Term::Cents), Some(Term::Cents)),
            (ExplainAction::Tap(Term::Pair), Some(Term::Pair)),
            (ExplainAction::Close, None),
        ] {
            let _ = update(&mut open, action);
            assert_eq!(open, expected, "{action:?}");
        }
    }
}
