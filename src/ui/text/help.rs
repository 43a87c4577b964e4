//! The help page and the cautions.

/// Six lines with which anyone can begin.
pub const BEGIN_LINES: [&str; 6] = [
    "Start with your tank: Ctrl+N, pick a size. Or play with the scene that is open.",
    "Click a shape at the left to add a rock, or press R and draw one in the top or side view.",
    "Drag things where they belong; a rock's points reshape it, the other view shows the same rock.",
    "Add a pump and a lamp; drag the pump's arrow to aim it. Water and light follow by themselves.",
    "Read the list below the drawing: dead water and shade are hatched, each line says what helps.",
    "Anything can be undone with Ctrl+Z; Ctrl+K finds every command by its words.",
];

/// How to take what the program says.
pub const HOW_SURE_LINES: [&str; 4] = [
    "Each finding says sure, likely or check. Check means: look at the tank before you act on it.",
    "Once the tank estimate stands, the tank is run again from other beginnings. Where the runs go different ways the sheet is hatched in red: there the flow may flip for minutes at a time.",
    "The slice answers at once and knows each jet only as if it ran free: off by up to two times near a pane or in return flow. Wait a few seconds for the tank estimate before you judge.",
    "Gas exchange, oxygen at night and heat are not computed, and nothing here guesses at them. Watch your animals in the first hours of the morning, and keep a thermometer in the water.",
];

/// What the hand can do that no command list shows.
pub const BY_HAND_LINES: [&str; 6] = [
    "Drag to move, Shift+click to add to the selection, drag on empty water to select what lies inside.",
    "Wheel to look closer, drag with the middle button or with Space held to move the paper.",
    "Right-click rock or sand to ask what lives there; drag the bar of months to see the corals grown.",
    "Dashed red lines are the cuts of the other views: drag them.",
    "Numbers at the right can be dragged or typed: 12 in, 3*4, 1000 gph all work.",
    "Tab goes through everything; arrow keys nudge what is selected.",
];

/// The gravest cautions, in our own words.
pub const CAUTIONS: [(&str, &[&str]); 4] = [
    (
        "electricity beside salt water",
        &[
            "Feed everything near the tank through a residual-current device (ground-fault protection) and test it every month.",
            "Let each cable hang in a drip loop below its socket. Keep sockets and strips above splash height.",
            "Switch pumps off before you reach in. Unplug for good what tingles or trips.",
            "Your local electrical code rules; have a licensed electrician do any wiring.",
        ],
    ),
    (
        "falling rock",
        &[
            "The standing check is rough statics. It does not prove that a stack is safe.",
            "Build from the base up, before the sand goes in. Push each rock with a finger: what rocks will fall.",
            "Diggers take the sand away from under rock. Never stand a rock's tip on bare glass.",
        ],
    ),
    (
        "stand and floor",
        &[
            "A full tank with its stand weighs about 1.2 to 1.3 kg for each liter it holds.",
            "Above some 300 to 400 kg, on an upper floor or on timber, ask a structural engineer first.",
        ],
    ),
    (
        "palytoxin",
        &[
            "Zoanthids, Palythoa and their kin can hold a strong poison. Wear gloves and eye protection, keep them wet.",
            "Never heat, boil, steam, scrub dry, saw or pressure-wash rock that carries them: the vapor has put whole families in the hospital.",
            "If you feel ill afterward, go into fresh air, get medical help at once, and say palytoxin.",
        ],
    ),
];
