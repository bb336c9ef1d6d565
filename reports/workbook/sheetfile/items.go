package sheetfile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Item is one thing that a person who opens the file sees, or that decides what
// he sees: how a number is printed, what a formula says, what is hidden.
type Item struct {
	Place string // sheet, sheet!cell, or "" for the whole file
	What  string
	Value string // in a form that does not depend on the program that saved
}

// Shown lists what the file shows beside the values of its cells. Sheets named
// in skip are listed but not looked into.
func (f *File) Shown(skip ...string) ([]Item, error) {
	s := &show{f: f, skip: skip}
	if err := s.book(); err != nil {
		return nil, err
	}
	styles, err := f.styles()
	if err != nil {
		return nil, err
	}
	for _, sh := range f.Sheets {
		if slices.Contains(skip, sh.Name) {
			continue
		}
		if err := s.cells(sh, styles); err != nil {
			return nil, err
		}
		if err := s.around(sh, styles); err != nil {
			return nil, err
		}
		if err := s.attached(sh); err != nil {
			return nil, err
		}
	}
	return s.items, nil
}

type show struct {
	f     *File
	skip  []string
	items []Item

	keep     bool // the bytes of pictures
	pictures [][]byte

	grid grid // of the sheet that is being looked into
}

// Pictures are the bytes of the pictures that lie on a sheet.
func (f *File) Pictures(sheet string) ([][]byte, error) {
	s := &show{f: f, keep: true}
	for _, sh := range f.Sheets {
		if sh.Name == sheet {
			if err := s.attached(sh); err != nil {
				return nil, err
			}
		}
	}
	return s.pictures, nil
}

func (s *show) add(place, what, value string) {
	s.items = append(s.items, Item{place, what, value})
}

// book lists sheets in their order, and the names.
func (s *show) book() error {
	for i, sh := range s.f.Sheets {
		state := "shown"
		if sh.Hidden {
			state = "hidden"
		}
		s.add(sh.Name, "sheet", fmt.Sprintf("number %d, %s", i+1, state))
	}
	rs, err := s.f.relations(s.f.main)
	if err != nil {
		return err
	}
	for _, r := range rs {
		if !slices.Contains([]string{"worksheet", "styles", "theme", "sharedStrings", "calcChain", "customXml"}, r.kind) {
			s.add("", "part", r.kind)
		}
	}
	if err := s.contentTypes(); err != nil {
		return err
	}
	name, place, text, in := "", "", []byte(nil), false
	return s.f.scan(s.f.main, func(k kind, x *scanner) (err error) {
		switch {
		case k == start && string(x.name) == "workbookPr" && truth(get(x.attr, "date1904")):
			s.add("", "days", "counted from 1904")
		case k == start && string(x.name) == "calcPr" && get(x.attr, "fullPrecision") != nil && !truth(get(x.attr, "fullPrecision")):
			s.add("", "numbers", "kept as they are printed")
		case k == start && string(x.name) == "definedName":
			name, text, in = attrText(x.attr, "name"), nil, !x.self
			place = ""
			if l := attrText(x.attr, "localSheetId"); l != "" {
				if i, err := strconv.Atoi(l); err == nil && i >= 0 && i < len(s.f.Sheets) {
					place = s.f.Sheets[i].Name
				} else {
					name += " of sheet " + l
				}
			}
		case k == end && string(x.name) == "definedName":
			in = false
			switch {
			case strings.HasPrefix(name, "_xlnm.Print_Area"):
				s.add(place, "printed", strings.ReplaceAll(Tokens(string(text)), "'", ""))
			case !strings.HasPrefix(name, "_xlnm."): // print titles and the like
				s.add(place, "name "+name, Tokens(string(text)))
			}
		case k == chars && in:
			text, err = appendText(text, x.text, x.cd)
		}
		return err
	})
}

// contentTypes lists sheets whose parts are told to be something else.
func (s *show) contentTypes() error {
	return s.f.each("[Content_Types].xml", func(x *scanner) error {
		if string(x.name) != "Override" {
			return nil
		}
		part := strings.TrimPrefix(attrText(x.attr, "PartName"), "/")
		for _, sh := range s.f.Sheets {
			if t := attrText(x.attr, "ContentType"); strings.EqualFold(part, sh.part) && !strings.HasSuffix(t, ".worksheet+xml") {
				s.add(sh.Name, "sheet", "of another kind: "+t)
			}
		}
		return nil
	})
}

// cells lists formula, number format, ink and ground of every cell that holds
// something.
func (s *show) cells(sh Sheet, styles []style) error {
	return s.f.Cells(sh, func(c Cell) error {
		if !c.IsFormula && !c.IsNumber && strings.TrimSpace(c.Text) == "" {
			return nil
		}
		at := sh.Name + "!" + Name(c.Row, c.Col)
		if c.IsFormula {
			s.add(at, "formula", strings.TrimSpace(c.Kind+" "+Tokens(c.Formula)))
		}
		if c.Mixed {
			s.add(at, "text", "in parts with looks of their own")
		}
		if c.Style < 0 || c.Style >= len(styles) {
			s.add(at, "look", "none")
			return nil
		}
		s.add(at, "number format", styles[c.Style].format)
		s.add(at, "look", styles[c.Style].look)
		return nil
	})
}

// small is the height or width below which nothing can be read.
const (
	smallRow = 6.0
	smallCol = 0.9
)

func truth(b []byte) bool { return string(b) == "1" || string(b) == "true" }

// around lists what stands in the sheet's own part beside its cells.
func (s *show) around(sh Sheet, styles []style) error {
	rule, at, in := "", "", false
	var text, head []byte
	inHead, moved, first, even := false, false, false, false
	s.grid = newGrid()
	return s.f.scan(sh.part, func(k kind, x *scanner) (err error) {
		a := x.attr
		switch {
		case k == chars && inHead:
			head, err = appendText(head, x.text, x.cd)
		case k == end && inHead:
			inHead = false
			n := string(x.name)
			if w := printed(string(head)); w != "" && (strings.HasPrefix(n, "odd") || even && strings.HasPrefix(n, "even") || first && strings.HasPrefix(n, "first")) {
				s.add(sh.Name, strings.ToLower(strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(n, "odd"), "even"), "first")), w)
			}
		case k == start && x.local() != string(x.name):
			switch x.local() {
			case "cfRule":
				s.add(sh.Name, "conditional format", "of a kind that newer programs read")
			case "sparklineGroup":
				s.add(sh.Name, "shape", "lines drawn in cells")
			}
		case k == chars && in:
			text, err = appendText(text, x.text, x.cd)
		case k == end && string(x.name) == "formula" && in:
			in = false
			rule += " " + Tokens(string(text))
		case k == end && string(x.name) == "cfRule":
			s.add(sh.Name+"!"+at, "conditional format", rule)
		case k != start:
		default:
			switch string(x.name) {
			case "row":
				h, err := strconv.ParseFloat(attrText(a, "ht"), 64)
				if r, e := strconv.Atoi(attrText(a, "r")); e == nil && err == nil {
					s.grid.high[r] = h
				}
				if truth(get(a, "hidden")) || err == nil && h < smallRow {
					s.add(sh.Name+"!"+attrText(a, "r"), "row", "hidden")
				} else if err == nil {
					s.add(sh.Name+"!"+attrText(a, "r"), Height, strconv.FormatFloat(h, 'f', 1, 64))
				}
			case "c":
				if get(a, "vm") != nil {
					s.add(sh.Name+"!"+attrText(a, "r"), "look", "of a kind of its own")
				}
			case "picture":
				s.add(sh.Name, "picture", "behind the cells")
			case "headerFooter":
				first, even = truth(get(a, "differentFirst")), truth(get(a, "differentOddEven"))
			case "oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader", "firstFooter":
				head, inHead = nil, !x.self
			case "pageSetup":
				if z, err := strconv.Atoi(attrText(a, "scale")); err == nil && z < 40 && z != 0 {
					s.add(sh.Name, "view", "printed too small to read")
				}
			case "pane": // what scrolls begins behind what is gone, or there is no room for it
				y, _ := strconv.ParseFloat(attrText(a, "ySplit"), 64)
				z, _ := strconv.ParseFloat(attrText(a, "xSplit"), 64)
				if strings.HasPrefix(attrText(a, "state"), "frozen") && (moved || y > 40 || z > 20) {
					s.add(sh.Name, "view", "cells out of reach")
				}
			case "col":
				s.columns(sh, a)
			case "mergeCell":
				s.add(sh.Name+"!"+attrText(a, "ref"), "cells", "merged")
			case "conditionalFormatting":
				at = attrText(a, "sqref")
			case "cfRule":
				rule = attrText(a, "type") + " " + attrText(a, "operator")
				if d, err := strconv.Atoi(attrText(a, "dxfId")); err == nil {
					rule += " " + s.f.dxf(d)
				}
				if x.self {
					s.add(sh.Name+"!"+at, "conditional format", rule)
				}
			case "formula":
				text, in = nil, !x.self && rule != ""
			case "dataValidation": // what it says where a person is about to type
				for _, n := range []string{"promptTitle", "prompt", "errorTitle", "error"} {
					if t := attrText(a, n); t != "" {
						s.add(sh.Name, "prompt", t)
					}
				}
			case "hyperlink":
				s.add(sh.Name+"!"+attrText(a, "ref"), "link", attrText(a, "location"))
			case "sheetFormatPr":
				s.grid.usual(attrText(a, "defaultColWidth"), attrText(a, "defaultRowHeight"))
				if truth(get(a, "zeroHeight")) {
					s.add(sh.Name, "rows", "hidden unless said otherwise")
				}
			case "sheetView":
				s.view(sh, a)
				if c := attrText(a, "topLeftCell"); c != "" && c != "A1" {
					moved = true
				}
			}
		}
		return err
	})
}

func (s *show) columns(sh Sheet, a []byte) {
	w, err := strconv.ParseFloat(attrText(a, "width"), 64)
	what, value := "column", "hidden"
	if !truth(get(a, "hidden")) && (err != nil || w >= smallCol) {
		if what, value = Width, strconv.FormatFloat(w, 'f', 2, 64); err != nil {
			return
		}
	}
	from, err1 := strconv.Atoi(attrText(a, "min"))
	to, err2 := strconv.Atoi(attrText(a, "max"))
	if err1 != nil || err2 != nil || to > MaxCol {
		return
	}
	for c := from; c <= min(to, 400); c++ { // nothing of this program stands beyond
		if err == nil {
			s.grid.wide[c] = w
		}
		s.add(sh.Name+"!"+strings.TrimRight(Name(1, c), "1"), what, value)
	}
}

// What is told by its measure, which programs round: it is held against what was to
// within a part of it.
const (
	Height = "height" // of a row, in points
	Width  = "width"  // of a column, in figures
	Reach  = "reach"  // of a picture or a chart: its width and height, in points
)

// printed is a header or a footer without the fonts and sizes, which programs write
// each in their own way.
func printed(code string) string {
	parts := map[byte]string{}
	at := byte('C') // what no mark stands before is in the middle
	for i := 0; i < len(code); i++ {
		c := code[i]
		if c != '&' || i+1 == len(code) {
			parts[at] += string(c)
			continue
		}
		i++
		switch c = code[i]; {
		case c == 'L' || c == 'C' || c == 'R':
			at = c
		case c == '"':
			for i++; i < len(code) && code[i] != '"'; i++ {
			}
		case c == 'K':
			i += min(6, len(code)-1-i)
		case c >= '0' && c <= '9':
			for i+1 < len(code) && code[i+1] >= '0' && code[i+1] <= '9' {
				i++
			}
		case strings.IndexByte("BIUESXY", c) >= 0:
		default:
			parts[at] += "&" + string(c)
		}
	}
	out := ""
	for _, p := range "LCR" {
		if w := strings.Join(strings.Fields(parts[byte(p)]), " "); w != "" {
			out += string(p) + " " + w + " "
		}
	}
	return strings.TrimSpace(out)
}

func (s *show) view(sh Sheet, a []byte) {
	if v := get(a, "showZeros"); v != nil && !truth(v) {
		s.add(sh.Name, "view", "without zeros")
	}
	for _, n := range []string{"showFormulas", "rightToLeft"} {
		if truth(get(a, n)) {
			s.add(sh.Name, "view", n)
		}
	}
	if z, err := strconv.Atoi(attrText(a, "zoomScale")); err == nil && z < 40 && z != 0 {
		s.add(sh.Name, "view", "too small to read")
	}
}

type relation struct{ id, kind, target, mode string }

// relations lists what a part refers to.
func (f *File) relations(part string) ([]relation, error) {
	rels := relsOf(part)
	if _, ok := f.parts[rels]; !ok {
		return nil, nil
	}
	var rs []relation
	err := f.each(rels, func(s *scanner) error {
		if string(s.name) == "Relationship" {
			r := relation{attrText(s.attr, "Id"), path.Base(attrText(s.attr, "Type")), attrText(s.attr, "Target"), attrText(s.attr, "TargetMode")}
			if r.mode != "External" {
				r.target = resolve(part, r.target)
			}
			rs = append(rs, r)
		}
		return nil
	})
	return rs, err
}

// attached lists what hangs on a sheet: drawings, comments, anything else.
func (s *show) attached(sh Sheet) error {
	rs, err := s.f.relations(sh.part)
	if err != nil {
		return err
	}
	for _, r := range rs {
		switch r.kind {
		case "printerSettings":
		case "drawing":
			if err := s.drawing(sh, r.target); err != nil {
				return err
			}
		case "comments", "threadedComment":
			if err := s.comments(sh, r.target); err != nil {
				return err
			}
		default:
			s.add(sh.Name, r.kind, path.Base(r.target))
		}
	}
	return nil
}

func (s *show) comments(sh Sheet, part string) error {
	at, text, in := "", []byte(nil), false
	return s.f.scan(part, func(k kind, x *scanner) (err error) {
		n := x.local()
		switch {
		case k == start && (n == "comment" || n == "threadedComment"):
			at, text = attrText(x.attr, "ref"), nil
		case k == end && (n == "comment" || n == "threadedComment"):
			s.add(sh.Name+"!"+at, "comment", string(text))
		case (k == start || k == end) && (n == "t" || n == "text"):
			in = k == start
		case k == chars && in:
			text, err = appendText(text, x.text, x.cd)
		}
		return err
	})
}

// drawing lists pictures by the digest of their bytes, charts by what they say,
// and every other shape as such.
func (s *show) drawing(sh Sheet, part string) error {
	rs, err := s.f.relations(part)
	if err != nil {
		return err
	}
	target := map[string]string{}
	for _, r := range rs {
		target[r.id] = r.target
	}
	var at anchor
	into := (*string)(nil)
	place := func() string { return sh.Name + "!" + Name(at.from.cell()) }
	return s.f.scan(part, func(k kind, x *scanner) error {
		n := x.local()
		switch {
		case k == chars && into != nil:
			*into = strings.TrimSpace(string(x.text))
		case k == start && strings.HasSuffix(n, "Anchor"):
			at = anchor{kind: n}
		case n == "from" || n == "to":
			if k == start {
				at.now = map[string]*corner{"from": &at.from, "to": &at.to}[n]
			} else if k == end {
				at.now = nil
			}
		case n == "row" || n == "col" || n == "rowOff" || n == "colOff":
			into = nil
			if k == start && at.now != nil {
				into = at.now.part(n)
			}
		case k != start:
		case n == "ext" && at.cx == "":
			at.cx, at.cy = attrText(x.attr, "cx"), attrText(x.attr, "cy")
		case n == "blip":
			s.add(place(), Reach, at.reach(s.grid))
			id, ok := x.related("embed")
			if !ok {
				s.add(place(), "picture", "cannot be told")
				return nil
			}
			return s.picture(place(), target[string(id)])
		case n == "chart":
			s.add(place(), Reach, at.reach(s.grid))
			id, ok := x.related("id")
			if !ok {
				s.add(place(), "chart", "cannot be told")
				return nil
			}
			return s.chart(place(), target[string(id)])
		case n == "srcRect" && len(bytes.TrimSpace(x.attr)) > 0:
			s.add(place(), "picture", "cut")
		case n == "xfrm" && (len(bytes.Trim(get(x.attr, "rot"), "0")) > 0 || truth(get(x.attr, "flipH")) || truth(get(x.attr, "flipV"))):
			s.add(place(), "picture", "turned")
		case n == "sp", n == "cxnSp", n == "grpSp", n == "contentPart":
			s.add(place(), "shape", "drawn over the sheet")
		}
		return nil
	})
}

func (s *show) picture(at, part string) error {
	var buf bytes.Buffer
	b, err := s.f.read(part, &buf)
	if err != nil {
		return err
	}
	if s.keep {
		s.pictures = append(s.pictures, b)
	}
	h := sha256.Sum256(b)
	s.add(at, "picture", hex.EncodeToString(h[:]))
	return nil
}

// chart lists the kinds of plot, the cells they are drawn from, the limits of
// the axes and the words. How it is drawn otherwise is left to the program.
func (s *show) chart(at, part string) error {
	var said []string
	var text []byte
	in := ""
	err := s.f.scan(part, func(k kind, x *scanner) (err error) {
		n := x.local()
		switch {
		case k == chars && in != "":
			text, err = appendText(text, x.text, x.cd)
		case k == end && in == n:
			if t := strings.TrimSpace(string(text)); t != "" {
				if n == "f" {
					t = Tokens(t)
				}
				said = append(said, n+" "+t)
			}
			in = ""
		case k == start && (n == "f" || n == "t"):
			in, text = n, nil
		case k == start && (strings.HasSuffix(n, "Chart") || n == "numLit" || n == "strLit"):
			said = append(said, n)
		case k == start && (n == "max" || n == "min"):
			v, _ := strconv.ParseFloat(attrText(x.attr, "val"), 64)
			said = append(said, n+" "+strconv.FormatFloat(v, 'g', 6, 64))
		}
		return err
	})
	slices.Sort(said) // programs write the parts of a chart in orders of their own
	s.add(at, "chart", strings.Join(said, "; "))
	return err
}
