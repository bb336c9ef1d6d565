// Package chart is the workbench's pictures: plain numbers in, a drawing out. The
// numbers arrive in the units they are to be shown in; nothing is converted here
// and nothing is computed but where a mark or a word goes.
//
// PH, XY, CompressorMap and Phasors make a Picture: lines, areas, marks and words
// in the coordinates of what it shows, and for a chart two axes of which either
// may be logarithmic. A Frame is the part of it in view. Render draws that part
// at a size in pixels; it holds no state, so it may run on any goroutine, and a
// picture once handed out is not changed. Colours are tones, so that one picture
// serves a light and a dark palette. Lay places the marks of one finding on its
// scale.
package chart
