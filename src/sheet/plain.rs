//! Writes a sheet as plain text: what it says in reading order, pictures in words.

use super::page::{Document, Kind};

impl Document {
    /// Writes the sheet as plain text, one line a paragraph; cells of a table are parted by two spaces or more, in columns.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        let mut index = 0;
        while let Some(element) = self.elements.get(index) {
            match element.kind {
                Kind::Title => text += &format!("{}\n", element.words),
                Kind::Heading => text += &format!("\n{}\n", element.words),
                Kind::Figure => text += &format!("{}\n", element.words),
                Kind::Paragraph => text += &format!("{}\n", element.words),
                Kind::Label => text += &format!("{} ", element.words),
                Kind::Table => {
                    let rows = self.rows_of(index);
                    text += &columns(&rows);
                    index += 1 + rows.iter().map(|row| row.len() + 1).sum::<usize>();
                    continue;
                }
                Kind::List | Kind::Item | Kind::Body | Kind::Row | Kind::HeadCell | Kind::Cell => {}
            }
            index += 1;
        }
        text
    }

    fn rows_of(&self, table: usize) -> Vec<Vec<&str>> {
        let of =
            |parent: usize| self.elements.iter().enumerate().filter(move |(_, element)| element.parent == Some(parent));
        of(table).map(|(row, _)| of(row).map(|(_, cell)| cell.words.as_str()).collect()).collect()
    }
}

fn columns(rows: &[Vec<&str>]) -> String {
    let all = rows.iter().map(Vec::len).max().unwrap_or(0);
    let wide = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..all).map(wide).collect();
    let line = |row: &Vec<&str>| {
        let cells = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}
