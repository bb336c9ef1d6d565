// Package ladder lays out a unit's wiring as a ladder: a drawing as data, without
// knowing what will paint it.
//
// # Idea
//
// One ladder per source: outdoor line, indoor line, 24 V control. Its two poles
// are the rails. From the left rail each part is followed to the next, depth
// first, so that what is in series lies on one rung and what is in parallel lies
// below. Columns hold the symbols; the gutters between columns hold the vertical
// links of the nets, each on a lane of its own; a net that needs two gutters
// crosses in the channel under a rung. So no wire ever runs through a symbol.
//
// A terminal's stub carries the colour of the conductor that lands there, and the
// conductor's name and colour in words beside it. Changes are marked by a word,
// never by colour alone.
//
// # Units
//
// Lengths are in points of an unscaled drawing, x to the right, y down.
package ladder
