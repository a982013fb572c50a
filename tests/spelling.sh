#!/usr/bin/env bash
# English spelling of what the screens say, of the tables and of what is written for people, by hunspell (Debian) with its
# British word list, no network. Words it does not know and that are right stand in spelling.txt, sorted.
set -euo pipefail
cd "$(dirname "$0")/.."
# Hunspell takes letters by the locale, and looks for a list of words from the home folder.
export LC_ALL=C.UTF-8 HOME="$PWD"
texts() {
    # Every message of the screens stands in English in each language's file.
    sed -n 's/^msgid\(_plural\)\? "\(.*\)"$/\2/p' ui/lang/de/LC_MESSAGES/pegwise-ui.po
    cat README.md DEVELOPERS.md data/README.md tests/README.md src/DECISIONS.md ui/lang/README.md android/README.md
    sed -n 's/^#//p' data/*.toml
    grep -ohE '\b(use|en) = "[^"]*"' data/*.toml | sed 's/^[a-z]* = //'
}
# Names in code, places to fill in, and single letters are no words.
unknown=$(texts | sed -E 's/`[^`]*`//g; s/https?:[^ )]*//g; s/\{[0-9n]\}//g; s/\\n/ /g' | sed "s/’/'/g" \
    | hunspell -i UTF-8 -d en_GB -l -p tests/spelling.txt | grep -vE '[0-9]|^.$|^[A-G]b$' | LC_ALL=C sort -u || true)
if [ -n "$unknown" ]; then
    echo "not spelled right, or missing in tests/spelling.txt:" $unknown >&2
    exit 1
fi
