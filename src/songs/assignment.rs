//! The cheapest way to give each row a column of its own.

/// Returns the cost of the cheapest assignment of `size` rows to `size` columns, `cost` by row and column (the
/// Hungarian method with potentials; Kuhn, 1955, in the form of Jonker and Volgenant's shortest paths, 1987).
///
/// Row after row is added: from the new row the cheapest chain of changes to a free column is found, where what a pair
/// costs beyond its row's and its column's potential is never negative.
pub(super) fn cheapest_assignment(size: usize, cost: impl Fn(usize, usize) -> i64) -> i64 {
    const FREE: usize = usize::MAX;
    let mut row_potential = vec![0_i64; size];
    let mut column_potential = vec![0_i64; size];
    let mut row_of = vec![FREE; size];
    for new_row in 0..size {
        let mut reach = vec![i64::MAX; size];
        let mut before = vec![FREE; size];
        let mut is_done = vec![false; size];
        let mut row = new_row;
        let mut at = FREE;
        let mut far = 0;
        let end = loop {
            for column in (0..size).filter(|&column| !is_done[column]) {
                let beyond = cost(row, column) - row_potential[row] - column_potential[column];
                if far + beyond < reach[column] {
                    reach[column] = far + beyond;
                    before[column] = at;
                }
            }
            let open = (0..size).filter(|&column| !is_done[column]);
            let Some(next) = open.min_by_key(|&column| reach[column]) else { return 0 };
            far = reach[next];
            is_done[next] = true;
            at = next;
            match row_of[next] {
                FREE => break next,
                taken => row = taken,
            }
        };
        // Potentials move so that every pair on the way costs nothing beyond them.
        row_potential[new_row] += far;
        for column in (0..size).filter(|&column| is_done[column] && column != end) {
            let closer = far - reach[column];
            column_potential[column] -= closer;
            row_potential[row_of[column]] += closer;
        }
        let mut column = end;
        while before[column] != FREE {
            row_of[column] = row_of[before[column]];
            column = before[column];
        }
        row_of[column] = new_row;
    }
    (0..size).map(|column| cost(row_of[column], column)).sum()
}
