package workbook

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/version"
	"retrostage/reports/workbook/sheetfile"

	"github.com/xuri/excelize/v2"
)

// Check is what a workbook was held against when it was read back.
type Check string

// What a workbook can be held against.
const (
	Rebuilt  Check = "rebuilt from its record and compared"
	Listed   Check = "compared with its own list; the record was not rebuilt"
	Unlisted Check = "values compared; it carries no list of what it shows"
)

// shown lists what the pages show beside their values; what the signer fills in is
// left out, for it is not yet there.
func (b *book) shown(sign map[string]string) ([]string, error) {
	b.file.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &steadyZip{w: w} })
	var buf bytes.Buffer
	if err := b.file.Write(&buf); err != nil {
		return nil, err
	}
	f, err := sheetfile.Open(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
	if err != nil {
		return nil, err
	}
	all, err := listed(f)
	if err != nil {
		return nil, err
	}
	signer := places(sign)
	all = slices.DeleteFunc(all, func(line string) bool { p, _, _ := cut(line); return signer[p] || isPhoto(line) })
	return append(all, b.photoLines()...), nil
}

// places are the cells of the signature block.
func places(sign map[string]string) map[string]bool {
	m := map[string]bool{}
	for _, at := range sign {
		m[at] = true
	}
	return m
}

func listed(f *sheetfile.File) ([]string, error) {
	items, err := f.Shown(sealSheet)
	if err != nil {
		return nil, err
	}
	out := make([]string, 0, len(items))
	for _, i := range items {
		if i.Place == sealSheet {
			continue
		}
		out = append(out, i.Place+"\t"+i.What+"\t"+i.Value)
	}
	return out, nil
}

// compareShown holds what the file shows beside its values against the list.
func (out *Reading) compareShown(f *sheetfile.File, pl *payload) error {
	if len(pl.Shown) == 0 {
		out.Check = Unlisted
		return nil
	}
	out.Check = Listed
	now, err := listed(f)
	if err != nil {
		return err
	}
	signer := places(pl.Sign)
	odd, left := apart(now, pl.Shown)
	want := tally(left)
	for _, line := range odd {
		place, what, value := cut(line)
		if signer[place] && honest(what, value) {
			continue
		}
		if measures[what] {
			if was := want.other(place, what); was != "" && !about(what, was, value) {
				out.change(change(place, what, was, value))
			}
			continue
		}
		out.change(change(place, what, want.other(place, what), value))
	}
	for _, line := range left { // in their order
		place, what, value := cut(line)
		if !want.take(line) {
			continue
		}
		switch {
		case isPhoto(line): // nothing draws it again
			out.change(change(place, "photo", value, ""))
		case what == "chart" || what == "picture":
			out.Redrawn = append(out.Redrawn, place+": the "+what+" is gone; the record's own stands")
		case what == sheetfile.Width: // the program's own width is 8 figures
			if w, err := strconv.ParseFloat(value, 64); err == nil && w > 14 {
				out.change(change(place, what, value, "not told"))
			}
		case measures[what]: // as tall as its words ask for
		case what == "formula", what == "look", what == "number format": // the value is gone too, or written over: compare said so
		default:
			out.change(change(place, what, value, ""))
		}
	}
	return nil
}

// measures are told by a number that programs round.
var measures = map[string]bool{sheetfile.Height: true, sheetfile.Width: true, sheetfile.Reach: true}

// about tells whether a row is about as high and a column about as wide as it was, and a
// picture about as large. Higher and wider rows and columns hide nothing; a larger picture
// covers what it did not cover.
func about(what, was, now string) bool {
	var a, b [2]float64
	if what != sheetfile.Reach {
		_, err := fmt.Sscan(was+" "+now, &a[0], &b[0])
		return err == nil && b[0] >= 0.75*a[0]
	}
	if _, err := fmt.Sscan(was+" "+now, &a[0], &a[1], &b[0], &b[1]); err != nil {
		return false
	}
	for i := range a {
		if b[i] < 0.7*a[i] || b[i] > 1.25*a[i]+6 {
			return false
		}
	}
	return true
}

// apart takes out of two lists what stands in both, whole line by whole line: in nearly
// every file that is all.
func apart(now, was []string) (odd, left []string) {
	n := make(map[string]int, len(was))
	for _, l := range was {
		n[l]++
	}
	for _, l := range now {
		if n[l] > 0 {
			n[l]--
			continue
		}
		odd = append(odd, l)
	}
	for _, l := range slices.Backward(was) {
		if n[l] > 0 {
			n[l]--
			left = append(left, l)
		}
	}
	slices.Reverse(left)
	return odd, left
}

// tallied counts lines by place and what, so that a hostile file costs no more
// than an honest one.
type tallied map[string][]string

func tally(lines []string) tallied {
	t := make(tallied, len(lines))
	for _, l := range lines {
		place, what, value := cut(l)
		t[place+"\t"+what] = append(t[place+"\t"+what], value)
	}
	return t
}

// take takes the line out if it is there.
func (t tallied) take(line string) bool {
	place, what, value := cut(line)
	k := place + "\t" + what
	i := slices.Index(t[k], value)
	if i < 0 {
		return false
	}
	t[k] = slices.Delete(t[k], i, i+1)
	return true
}

// other takes out and returns a value that stands at the same place, "" if none is
// left.
func (t tallied) other(place, what string) string {
	k := place + "\t" + what
	if len(t[k]) == 0 {
		return ""
	}
	v := t[k][0]
	t[k] = t[k][1:]
	return v
}

func change(place, what, old, now string) Change {
	sheet, cell, _ := strings.Cut(place, "!")
	return Change{Sheet: sheet, Cell: cell, Label: what, Old: old, New: now}
}

func cut(line string) (place, what, value string) {
	p := strings.SplitN(line, "\t", 3)
	if len(p) < 3 {
		return "", "", line
	}
	return p[0], p[1], p[2]
}

// honest tells whether a cell of the signature block may look so: programs give
// a date the format of the place, and a cell typed into may lose its colours. Its
// letters have to be dark, of a size to be read and what they are, on a light ground; a
// format may print nothing of its own, no other colour and nothing in place of a text.
func honest(what, value string) bool {
	switch what {
	case "look":
		ink, ground, _ := strings.Cut(value, " on ")
		letters := strings.Fields(ink)
		if ground != "" && !strings.HasPrefix(ground, "FFF") {
			return false
		}
		switch len(letters) {
		case 0:
			return true
		case 1: // of no colour of its own, or of no size
			_, err := strconv.ParseFloat(letters[0], 64)
			return dark(letters[0]) || err == nil && len(letters[0]) < 6
		case 3: // a colour by its number in a table, and the size
			if letters[0] != "theme" && letters[0] != "indexed" || !dark(letters[0]+" "+letters[1]) {
				return false
			}
			letters = letters[1:]
		case 2:
			if !dark(letters[0]) {
				return false
			}
		default:
			return false
		}
		size, err := strconv.ParseFloat(letters[1], 64)
		return err == nil && size >= 6 && size <= 40
	case "number format":
		code := strings.NewReplacer(`"-"`, "", `"/"`, "", `" "`, "", `":"`, "", `","`, "", `"."`, "").Replace(value)
		code = strings.TrimSuffix(code, ";@") // dates: a text stays what it is
		code = locale.ReplaceAllString(code, "")
		return !strings.ContainsAny(code, `"\;[`) && code != ""
	}
	return false
}

// locale is the mark of a place in a format of dates; colours stand in such brackets too.
var locale = regexp.MustCompile(`\[(?:"\$"|\$)[^\]]*\]`)

// dark tells ink that can be read on a light ground. Of the colours that a theme or the
// old table counts, those that are black there (ECMA-376 part 1, 18.8.3 and 18.8.27,
// from memory).
func dark(ink string) bool {
	switch ink {
	case "theme 1", "indexed 0", "indexed 8", "indexed 64":
		return true
	}
	x, err := strconv.ParseUint(ink, 16, 32)
	if err != nil || len(ink) != 6 {
		return false
	}
	light := 0.30*float64(x>>16) + 0.59*float64(x>>8&255) + 0.11*float64(x&255)
	return light < 150
}

// rebuild writes the workbook of the sealed record again, with this program, and
// holds its list of cells and of what they show against the file's own.
func (out *Reading) rebuild(pl *payload, raw []byte) error {
	if pl.Software != version.String() {
		out.Other = pl.Software
		return nil
	}
	b, again, err := build(assess.New(out.Job), out.options())
	if err != nil {
		return fmt.Errorf("the record cannot be written again: %w", err)
	}
	defer b.file.Close()
	if out.Check == Listed {
		out.Check = Rebuilt
	}
	if bytes.Equal(again, raw) {
		return nil
	}
	return out.unlike(pl, again)
}

// unlike says where a seal differs from the one that its record gives.
func (out *Reading) unlike(pl *payload, again []byte) error {
	var own payload
	if err := json.Unmarshal(again, &own); err != nil {
		return err
	}
	before := len(out.Changes)
	lines := func(p *payload) []string {
		var s []string
		for _, sh := range p.Sheets {
			for _, c := range sh.Cells {
				if x, ok := parseSealed(c); ok {
					s = append(s, sh.Name+"!"+sheetfile.Name(x.row, x.col)+"\tvalue in the seal\t"+Unguard(x.value))
				}
			}
		}
		return slices.Concat(s, p.Shown)
	}
	want := tally(lines(&own))
	for _, l := range lines(pl) {
		if !want.take(l) {
			place, what, value := cut(l)
			out.change(change(place, what, want.other(place, what), value))
		}
	}
	for k, left := range want {
		for _, v := range left {
			place, what, _ := strings.Cut(k, "\t")
			out.change(change(place, what, v, ""))
		}
	}
	if len(out.Changes) == before {
		out.change(Change{Sheet: sealSheet, Label: "what the seal says of its record", Old: fmt.Sprint(own.Counts, own.Open), New: fmt.Sprint(pl.Counts, pl.Open)})
	}
	out.Counts, out.Outside = map[assess.Verdict]int{}, own.Open
	for v, n := range own.Counts {
		out.Counts[assess.Verdict(v)] = n
	}
	return nil
}

// Verify is Read, and rebuilds the workbook from its record besides: it takes as
// long as an export.
func Verify(ctx context.Context, b []byte, known ...ed25519.PublicKey) (Reading, error) {
	if err := ctx.Err(); err != nil {
		return Reading{State: Damaged}, err
	}
	return read(bytes.NewReader(b), int64(len(b)), true, known)
}
