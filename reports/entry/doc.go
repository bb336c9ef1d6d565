// Package entry understands what a person types into a field.
//
// # Idea
//
// People write numbers in their own way: "2,100", "33 500", "1 1/8", "6 lb 8 oz",
// "300ft", "$1,250", "208-230". A field knows its dimension, its usual unit and
// the range that makes sense. Read holds the one against the other: every way in
// which the text can be read is listed, those outside the range fall away, and
// what is left decides. One reading is taken; two are a question to the person
// (Ambiguity); none is a refusal that says why and what would fit. Nothing that
// can be read two ways is ever taken silently.
//
// The marks that people use for a unit (aliases.go) are the trade's and the SI's
// own abbreviations; common practice, no source.
package entry
