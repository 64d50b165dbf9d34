// The place of drawings: they are asked for after the numbers have been shown.

/** Draws what the sheet asks to be drawn; nothing yet. */
async function redraw() {}
