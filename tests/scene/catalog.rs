//! The built-in catalogue is whole: it reads, its values lie in their ranges,
//! its sources resolve, and it agrees with the published tables it quotes.

use std::collections::BTreeSet;

use bommie::catalog::{Catalog, CatalogError, ContactRule, Hazard, Kind, Seat, cautions};

#[test]
fn the_built_in_table_reads_and_is_large_enough() {
    let text = include_str!("../../assets/corals.ron");
    let read = Catalog::default().with_own(text).expect("the table reads");
    assert_eq!(&read, Catalog::built_in(), "what the program uses");
    assert!(
        read.entries().len() >= 80,
        "{} entries",
        read.entries().len()
    );
    let genera: BTreeSet<_> = read.entries().iter().map(|e| &e.genus).collect();
    assert!(genera.len() >= 70, "{} genera", genera.len());
    for kind in [Kind::Clam, Kind::Anemone] {
        assert!(
            read.entries().iter().any(|e| e.kind == kind),
            "no entry of {kind:?}"
        );
    }
}

#[test]
fn every_entry_can_be_planned() {
    for entry in Catalog::built_in().entries() {
        let id = &entry.id;
        assert!(!entry.seats.is_empty(), "{id} has no way to hold it");
        assert!(entry.place.rock || entry.place.sand, "{id} has no place");
        assert!(entry.spread_cm.value > 0.0, "{id} has no width");
        assert!(entry.flow_cm_s.high > 0.0, "{id} has no flow");
        assert!(entry.gap_cm.value > 0.0, "{id} has no gap");
        assert!(
            entry.id.chars().all(|c| c.is_ascii_lowercase() || c == '_'),
            "{id} is not a plain id"
        );
    }
}

/// Published aggressiveness of Carturan et al. 2020 (eLife 9:e55993, rank
/// merge, `aggressiveness.csv`), growth of the NOAA carbonate-budget table
/// (extension by genus and form) in cm a year. PUBLISHED.
#[test]
fn published_figures_are_those_of_their_tables() {
    let rows = [
        ("fungia", Some(100.0), 1.2),
        ("plerogyra", Some(100.0), 1.0),
        ("goniopora", Some(93.1), 1.1),
        ("galaxea", Some(82.5), 0.8),
        ("hydnophora", Some(77.8), 1.2),
        ("astreopora", Some(4.7), 0.9),
        ("acropora_thicket", Some(34.6), 8.6),
        ("acropora_table", Some(34.6), 7.7),
        ("porites_massive", Some(13.7), 1.1),
        ("montipora_plate", Some(25.4), 2.5),
        ("euphyllia_torch", None, 1.0),
    ];
    for (id, aggressiveness, growth) in rows {
        let entry = Catalog::built_in().entry(id).expect("entry is there");
        assert_eq!(entry.aggressiveness, aggressiveness, "{id} aggressiveness");
        assert_eq!(entry.growth_cm_yr.optimum, growth, "{id} growth");
    }
}

#[test]
fn search_finds_by_any_word() {
    let catalog = Catalog::built_in();
    let ids = |query: &str| -> Vec<&str> {
        catalog
            .search(query)
            .iter()
            .map(|e| e.id.as_str())
            .collect()
    };
    assert_eq!(ids("TORCH")[0], "euphyllia_torch", "common name, any case");
    assert_eq!(ids("scoly"), ["homophyllia"], "old name");
    assert!(ids("overhang").contains(&"tubastraea"), "place");
    assert!(ids("plating ledge").contains(&"merulina"), "two words");
    assert!(ids("palytoxin").contains(&"palythoa"), "hazard");
    assert_eq!(ids("").len(), catalog.entries().len(), "no word finds all");
    assert!(ids("no such coral").is_empty(), "nonsense finds nothing");
}

#[test]
fn contact_rules_take_the_worse_side() {
    let catalog = Catalog::built_in();
    let rule = |a: &str, b: &str| {
        let entry = |id| catalog.entry(id).expect("entry is there");
        catalog.contact_rule(entry(a), entry(b))
    };
    assert_eq!(
        rule("euphyllia_torch", "fimbriaphyllia_branch"),
        ContactRule::Never,
        "torch beats hammer"
    );
    assert_eq!(
        rule("fimbriaphyllia_branch", "fimbriaphyllia_wall"),
        ContactRule::Fine,
        "hammers among themselves"
    );
    assert_eq!(rule("zoanthus", "galaxea"), ContactRule::Never, "stinger");
    assert_eq!(
        rule("porites_massive", "porites_branch"),
        ContactRule::Fine,
        "one genus"
    );
    assert_eq!(
        rule("porites_massive", "heliopora"),
        ContactRule::SameKindOnly,
        "one group, two genera"
    );
}

#[test]
fn a_keepers_file_lies_over_the_table() {
    let own = r#"(
        format: 1,
        changes: [(
            id: "euphyllia_torch",
            light_ppfd_umol: Some((low: 60.0, optimum: 90.0, high: 150.0,
                basis: (status: CommonPractice, sources: [], text: "my tank"))),
        )],
    )"#;
    let merged = Catalog::built_in().with_own(own).expect("own file reads");
    let torch = merged.entry("euphyllia_torch").expect("torch is there");
    assert_eq!(torch.light_ppfd_umol.optimum, 90.0, "changed value");
    assert_eq!(torch.reach_cm.value, 20.0, "the rest stays");
    assert_eq!(
        merged.entries().len(),
        Catalog::built_in().entries().len(),
        "nothing is lost"
    );
}

#[test]
fn broken_own_files_are_refused_with_the_reason() {
    let catalog = Catalog::built_in();
    let message = |text: &str| catalog.with_own(text).expect_err("refused").to_string();
    assert!(
        message("(format: 1,").contains("does not read"),
        "truncated"
    );
    assert!(message("(format: 7)").contains("format 7"), "newer format");
    assert!(
        message("(format: 1, colour: 2)").contains("colour"),
        "unknown field"
    );
    let bad = r#"(format: 1, changes: [(id: "fungia", reach_cm: Some((value: NaN,
        basis: (status: Memory, sources: [], text: ""))))])"#;
    assert!(message(bad).contains("reach_cm"), "{}", message(bad));
    let lost = r#"(format: 1, changes: [(id: "nosuch")])"#;
    assert!(message(lost).contains("nosuch"), "names the entry");
    let unsourced = r#"(format: 1, changes: [(id: "fungia", gap_cm: Some((value: 3.0,
        basis: (status: Published, sources: ["Q9"], text: ""))))])"#;
    assert!(
        matches!(catalog.with_own(unsourced), Err(CatalogError::Value { .. })),
        "a source that is not known"
    );
}

#[test]
fn cautions_are_there_and_defer_to_doctors() {
    assert!(cautions().len() >= 20, "{} cautions", cautions().len());
    let ids: BTreeSet<_> = cautions().iter().map(|c| &c.id).collect();
    assert_eq!(ids.len(), cautions().len(), "ids are unique");
    let poison: Vec<_> = cautions()
        .iter()
        .filter(|c| c.id.starts_with('Z'))
        .collect();
    assert!(
        poison
            .iter()
            .any(|c| c.text.contains("urgent medical help")),
        "palytoxin defers to medical help"
    );
    assert!(poison.iter().all(|c| !c.references.is_empty()), "in print");
    let poisonous = Catalog::built_in()
        .entry("palythoa")
        .expect("entry is there");
    assert!(poisonous.hazards.contains(&Hazard::Palytoxin), "marked");
    assert!(poisonous.seats.contains(&Seat::Rubble), "seat is read");
}
