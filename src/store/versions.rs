//! What lies beside the library: versions from before, and whole files that were set aside. Few, and of bounded size.

use std::time::{Duration, SystemTime};

/// A kept version is made at most so often; what stood when the app was opened is kept besides.
pub(super) const SPACING: Duration = Duration::from_secs(10 * 60);
/// So many versions, and as many files that somebody else wrote, are kept: with gaps that grow with age, twelve reach from
/// ten minutes to some months.
const MOST: usize = 12;
/// So many damaged files and libraries nobody wanted are kept. The oldest go.
const MOST_DAMAGED: usize = 20;
/// So many bytes of one kind are kept; two files stay whatever they weigh.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// What a file beside the library is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// The version before the last save.
    Previous,
    /// A version from before.
    Version,
    /// Could not be read.
    Damaged,
    /// Written by somebody else while the app was open: a second window, a copying program.
    Other,
    /// A version before that was not wanted when the library was gone.
    Kept,
}

impl Kind {
    const SET_ASIDE: [(Self, &'static str); 4] =
        [(Self::Version, "version"), (Self::Damaged, "damaged"), (Self::Other, "other"), (Self::Kept, "kept")];

    /// Returns the word in the file's name.
    pub(super) fn word(self) -> &'static str {
        Self::SET_ASIDE.iter().find(|(kind, _)| *kind == self).map_or("previous", |(_, word)| word)
    }

    /// Reads kind and number from a file's name.
    pub(super) fn of_name(name: &str) -> Option<(Self, u32)> {
        let rest = name.strip_prefix("pegwise-library.")?.strip_suffix(".json")?;
        if rest == "previous" {
            return Some((Self::Previous, 0));
        }
        let (word, number) = rest.split_once('-')?;
        let kind = Self::SET_ASIDE.iter().find(|(_, known)| *known == word)?.0;
        Some((kind, number.parse().ok()?))
    }
}

/// A file beside the library.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version {
    /// Its name in the library's folder.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// When it was written; `None` where the disk does not say.
    pub written: Option<SystemTime>,
    /// How many bytes it holds.
    pub bytes: u64,
    /// How many songs it holds; `None` where that cannot be read, or was not asked.
    pub songs: Option<usize>,
}

/// Returns which of the files go, so that few enough stay. The newest of each kind always stays.
pub(super) fn too_many(versions: &[Version]) -> Vec<String> {
    let mut gone = Vec::new();
    for kind in [Kind::Version, Kind::Other, Kind::Damaged, Kind::Kept] {
        let mut of_kind: Vec<&Version> = versions.iter().filter(|version| version.kind == kind).collect();
        of_kind.sort_by_key(|version| std::cmp::Reverse((version.written, version.name.clone())));
        let has_gaps = matches!(kind, Kind::Version | Kind::Other);
        let most = if has_gaps { MOST } else { MOST_DAMAGED };
        while of_kind.len() > most
            || (of_kind.len() > 2 && of_kind.iter().map(|version| version.bytes).sum::<u64>() > MOST_BYTES)
        {
            let goes = if has_gaps { closest(&of_kind) } else { of_kind.len() - 1 };
            gone.push(of_kind.remove(goes).name.clone());
        }
    }
    gone
}

/// Returns the file, newest and oldest left out, whose neighbours are closest for its age.
fn closest(newest_first: &[&Version]) -> usize {
    let time = |version: &Version| version.written.unwrap_or(SystemTime::UNIX_EPOCH);
    let newest = newest_first.first().map_or(SystemTime::UNIX_EPOCH, |version| time(version));
    let age = |index: usize| newest.duration_since(time(newest_first[index])).unwrap_or_default().as_secs_f64();
    let share = |index: usize| (age(index + 1) - age(index - 1)) / (age(index) + SPACING.as_secs_f64());
    let inner = 1..newest_first.len().saturating_sub(1);
    inner.min_by(|&one, &other| share(one).total_cmp(&share(other))).unwrap_or(newest_first.len() - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn version(kind: Kind, number: u32, minutes: u64, bytes: u64) -> Version {
        let name = format!("pegwise-library.{}-{number}.json", kind.word());
        let written = Some(SystemTime::UNIX_EPOCH + Duration::from_secs(minutes * 60));
        Version { name, kind, written, bytes, songs: None }
    }

    #[test]
    fn names_are_read_back() {
        assert_eq!(Kind::of_name("pegwise-library.previous.json"), Some((Kind::Previous, 0)));
        assert_eq!(Kind::of_name("pegwise-library.damaged-12.json"), Some((Kind::Damaged, 12)));
        for name in
            ["pegwise-library.json", "pegwise-library.new.json", "pegwise-library.version-x.json", "other-1.json"]
        {
            assert_eq!(Kind::of_name(name), None, "{name}");
        }
    }

    /// A version every ten minutes for half a year: twelve stay, the newest few close together, the oldest from the start.
    #[test]
    fn what_stays_lies_closer_the_newer_it_is() {
        let mut kept: Vec<Version> = Vec::new();
        for number in 1..=26_000_u32 {
            kept.push(version(Kind::Version, number, u64::from(number) * 10, 1));
            let gone = too_many(&kept);
            kept.retain(|version| !gone.contains(&version.name));
        }
        assert_eq!(kept.len(), MOST);
        let newest = kept.last().and_then(|version| version.written).expect("it has a time");
        let mut ages: Vec<u64> = kept
            .iter()
            .filter_map(|version| Some(newest.duration_since(version.written?).ok()?.as_secs() / 60))
            .collect();
        ages.sort_unstable();
        assert_eq!(ages[0], 0);
        assert!(ages[1] <= 30 && ages[2] <= 120, "{ages:?}");
        for limit in [60_u64, 24 * 60, 7 * 24 * 60, 60 * 24 * 60] {
            assert!(ages.iter().any(|&age| age >= limit / 3 && age <= limit * 3), "none near {limit} min: {ages:?}");
        }
    }

    #[test]
    fn large_files_are_few_and_two_stay_whatever_they_weigh() {
        let kept: Vec<Version> =
            (1..=5).map(|number| version(Kind::Damaged, number, u64::from(number), 30 * 1024 * 1024)).collect();
        assert_eq!(too_many(&kept).len(), 3);
        let kept: Vec<Version> =
            (1..=2).map(|number| version(Kind::Version, number, u64::from(number), 90 * 1024 * 1024)).collect();
        assert!(too_many(&kept).is_empty());
    }
}
