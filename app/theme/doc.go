// Package theme is how the workbench looks: one set of tones for a bright day,
// one for a dark attic, and sizes for a gloved thumb.
//
// Tones say what a thing is for, not what colour it has. A verdict never rests
// on colour: its word and its shape stand beside it. Every tone in which a figure
// or a word is written keeps a contrast of at least 7:1 to every ground it may lie
// on (WCAG 2.1, success criterion 1.4.6; the test computes it).
package theme
