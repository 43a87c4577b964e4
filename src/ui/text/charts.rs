//! Words of the charts.

words! {
    PAGE_CHARTS = "charts";
    PATH_CHARTS = "where to save the table";
    CHART_WATER = "water by speed";
    CHART_ROCK = "rock by light";
    CHART_ROUGH = "The estimate has not settled yet: these shares may still change.";
    CHART_SELECT = "Select a coral to see its light and flow, now and in three years, and its water over the day.";
    CHART_DAY = "water over it, by the hour of the day";
    CHART_DAY_WORDS = "Speeds are taken to go with what all pumps move at that hour; the pale band is what it likes.";
    CHART_DAY_CYCLES = "Speeds are means over the pumps' cycles of seconds and minutes, taken to go with what all pumps move at that hour; within a cycle they rise and fall. The pale band is what it likes.";
    CHART_SAVE = "save as a table (CSV)";
    CHART_FILE = "charts";
    CHART_NOT_SAVED = "The table could not be saved";
}

/// One coral.
pub fn chart_coral(name: &str) -> String {
    format!("{name}: now and in three years")
}

/// A class and its share.
pub fn chart_share(class: &str, share: f64) -> String {
    format!("{class}: {:.0} %", share * 100.0)
}

/// A value in three years, beside that of today.
pub fn in_three_years(value: &str) -> String {
    format!("in 3 years, grown, in today's water and light: {value}")
}

/// A class that is open above.
pub fn chart_from(low: &str) -> String {
    format!("{low} and more")
}

/// A class.
pub fn chart_range(low: &str, high: &str) -> String {
    format!("{low} to {high}")
}

/// Who would like the light and flow at a place: some by name, and how many more.
pub fn suited(named: &[&str], n_more: usize) -> String {
    match (named, n_more) {
        ([], _) => "suits no coral of the catalog".to_owned(),
        (named, 0) => format!("suits {}", named.join(", ")),
        (named, n) => format!("suits {} and {n} more", named.join(", ")),
    }
}

/// Whose limits the marks on the legend are.
pub fn legend_likes(name: &str, low: &str, high: &str) -> String {
    format!("{name} likes {low} to {high}")
}
