// Package assets holds the data that Retrostage ships: refrigerant equations,
// the device catalogue, code tables, limits with their sources, the demo job
// the pages of help and the words in other languages. It computes nothing and imports nothing of the project.
package assets

import "embed"

// FS holds every embedded file, by its path below this folder, for example
// "refrigerants/R-22.json".
//
//go:embed refrigerants targets limits demo electrical units wiring-rules help words
var FS embed.FS
