package sheetfile

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"
	"sync"

	"compress/flate"
)

// Limits beyond which a file is refused. A real workbook of this program is
// below a tenth of each.
const (
	MaxFile  = 16 << 20 // bytes of the file
	MaxParts = 400
	MaxPart  = 48 << 20 // bytes that one part unpacks to
	MaxTotal = 96 << 20 // bytes that all parts read unpack to
	MaxCells = 300_000  // of all sheets read
	MaxText  = 160_000  // bytes of one cell: 32,767 characters
	MaxRow   = 1 << 20
	MaxCol   = 1 << 14
)

// Refused is a file that is not read because of what it is or contains.
type Refused struct{ Reason string }

func (r *Refused) Error() string { return r.Reason }

func refuse(format string, a ...any) error { return &Refused{fmt.Sprintf(format, a...)} }

// File is an opened spreadsheet file.
type File struct {
	Sheets []Sheet
	Props  map[string]string // custom document properties that are text
	Date04 bool              // days count from 1904

	parts   map[string]*zip.File
	total   int64
	cells   int
	walked  map[string][]Cell // of the sheets that were walked and are small, as they were found
	kept    map[string][]byte // parts of sheets, unpacked
	strings []string          // shared strings
	main    string            // the workbook's own part
	looks   *tables
	mixed   map[int]bool // of the shared texts, those whose parts have looks of their own
}

// Sheet is one sheet by name.
type Sheet struct {
	Name   string
	Hidden bool
	part   string
}

// Cell is one cell that holds something. Exactly one of Text and Number
// counts.
type Cell struct {
	Row, Col  int // from 1
	IsNumber  bool
	Number    float64
	Text      string
	IsFormula bool
	Formula   string // as written, without the equals sign
	Kind      string // array, shared or dataTable where it is no plain formula
	Style     int    // row of the table of styles
	Empty     bool   // a formula whose value the program that wrote it did not state
	Mixed     bool   // parts of its text have looks of their own
}

// hostile marks parts that a workbook of this program never has.
var hostile = []struct{ mark, reason string }{
	{"vbaproject", "it carries macros"},
	{"vbadata", "it carries macros"},
	{"xl/macrosheets/", "it carries macro sheets"},
	{"xl/externallinks/", "it links to other files"},
	{"xl/connections.xml", "it connects to outside data"},
	{"xl/querytables/", "it connects to outside data"},
	{"xl/embeddings/", "it embeds other files"},
	{"xl/activex/", "it embeds program controls"},
	{"customui/", "it changes the program's controls"},
	{"xl/webextensions/", "it embeds web programs"},
}

// Open looks into the file and reads the names of its sheets. size is the
// length of r in bytes.
func Open(r io.ReaderAt, size int64) (*File, error) {
	switch {
	case size > MaxFile:
		return nil, refuse("file of %d bytes is larger than a workbook can be (%d)", size, MaxFile)
	case size == 0:
		return nil, refuse("the file is empty")
	case size < 22:
		return nil, refuse("file of %d bytes is not a workbook", size)
	}
	var magic [8]byte
	if _, err := r.ReadAt(magic[:], 0); err != nil {
		return nil, err
	}
	if bytes.Equal(magic[:], []byte{0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1}) {
		return nil, refuse("it is an old-format or password-protected workbook; save it as .xlsx without a password")
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, refuse("it is not a workbook, or was cut short on its way")
	}
	z.RegisterDecompressor(zip.Deflate, inflater)
	if len(z.File) > MaxParts {
		return nil, refuse("it has %d parts, more than %d", len(z.File), MaxParts)
	}
	f := &File{parts: make(map[string]*zip.File, len(z.File)), Props: map[string]string{},
		walked: map[string][]Cell{}, kept: map[string][]byte{}}
	seen := make(map[string]bool, len(z.File))
	for _, e := range z.File {
		if err := f.admit(e, seen); err != nil {
			return nil, err
		}
	}
	return f, f.index()
}

// admit checks one entry of the zip directory.
func (f *File) admit(e *zip.File, seen map[string]bool) error {
	name := e.Name
	switch {
	case len(name) == 0 || len(name) > 200 || strings.ContainsAny(name, "\\\x00:"),
		strings.HasPrefix(name, "/"), path.Clean(name) != strings.TrimSuffix(name, "/"), strings.HasPrefix(name, ".."):
		return refuse("it carries a part whose path does not belong in a workbook (%q)", name)
	case e.Flags&1 != 0:
		return refuse("the part %q is encrypted", name)
	case e.Method != zip.Store && e.Method != zip.Deflate:
		return refuse("the part %q is packed in a way workbooks are not (method %d)", name, e.Method)
	case e.UncompressedSize64 > MaxPart:
		return refuse("it would unpack to far more than a workbook holds (%q to %d bytes, allowed %d)", name, e.UncompressedSize64, MaxPart)
	}
	low := strings.ToLower(name)
	if seen[low] {
		return refuse("the part %q stands twice", name)
	}
	seen[low] = true
	for _, h := range hostile {
		if strings.Contains(low, h.mark) {
			return refuse("%s (%s)", h.reason, name)
		}
	}
	f.parts[name] = e
	return nil
}

var inflaters sync.Pool

// inflater is a decompressor that is used again: a workbook has many parts.
func inflater(r io.Reader) io.ReadCloser {
	if v := inflaters.Get(); v != nil {
		rc := v.(io.ReadCloser)
		if rc.(flate.Resetter).Reset(r, nil) == nil {
			return &pooled{rc}
		}
	}
	return &pooled{flate.NewReader(r)}
}

type pooled struct{ io.ReadCloser }

func (p *pooled) Close() error {
	if p.ReadCloser == nil {
		return nil
	}
	err := p.ReadCloser.Close()
	inflaters.Put(p.ReadCloser)
	p.ReadCloser = nil
	return err
}

// What is kept of a sheet that is read again: its values are held against one list, what
// it shows beside them against another.
const (
	keepPart  = 1 << 20
	keepCells = 20000
)

// read unpacks a part within the limits, whatever the directory claims. What it returns is
// not to be changed.
func (f *File) read(name string, into *bytes.Buffer) ([]byte, error) {
	if b, ok := f.kept[name]; ok {
		return b, nil
	}
	e, ok := f.parts[name]
	if !ok {
		return nil, refuse("the part %q is missing", name)
	}
	rc, err := e.Open()
	if err != nil {
		return nil, refuse("%s: %v", name, err)
	}
	defer rc.Close()
	into.Reset()
	if n := int(e.UncompressedSize64); n <= 4<<20 {
		into.Grow(n + 512)
	}
	room := min(MaxPart, MaxTotal-f.total)
	n, err := io.Copy(into, io.LimitReader(rc, room+1))
	f.total += n
	switch {
	case n > room:
		return nil, refuse("%s unpacks to more than a workbook can hold", name)
	case err != nil:
		return nil, refuse("%s: %v", name, err)
	}
	return into.Bytes(), nil
}

// scan calls fn for every tag and text of a part.
func (f *File) scan(name string, fn func(k kind, s *scanner) error) error {
	var buf bytes.Buffer
	b, err := f.read(name, &buf)
	if err != nil {
		return err
	}
	s := &scanner{b: b}
	for {
		k, err := s.next()
		switch {
		case err != nil:
			return refuse("%s: %v", name, err)
		case k == eof:
			return nil
		}
		if err := fn(k, s); err != nil {
			return err
		}
	}
}

// each calls fn for every start tag of a part.
func (f *File) each(name string, fn func(s *scanner) error) error {
	return f.scan(name, func(k kind, s *scanner) error {
		if k == start {
			return fn(s)
		}
		return nil
	})
}

func attrText(attr []byte, name string) string {
	b, err := appendText(nil, get(attr, name), false)
	if err != nil {
		return ""
	}
	return string(b)
}

// index finds the workbook part, its sheets, and the custom properties.
func (f *File) index() error {
	for name := range f.parts {
		if !strings.HasSuffix(name, ".rels") {
			continue
		}
		err := f.each(name, func(s *scanner) error {
			if string(s.name) == "Relationship" && attrText(s.attr, "TargetMode") == "External" && !strings.HasSuffix(attrText(s.attr, "Type"), "/hyperlink") {
				return refuse("it links to something outside (%s)", name)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	if _, ok := f.parts["[Content_Types].xml"]; !ok {
		return refuse("it is not a workbook: the list of content types is missing")
	}
	err := f.each("[Content_Types].xml", func(s *scanner) error {
		if strings.Contains(strings.ToLower(string(get(s.attr, "ContentType"))), "macroenabled") {
			return refuse("it is of a kind that carries macros")
		}
		return nil
	})
	if err != nil {
		return err
	}
	main, err := f.related("", "/officeDocument")
	if err != nil {
		return err
	}
	f.main = main
	targets := map[string]string{}
	shared, kinds := "", map[string]bool{}
	if err := f.each(relsOf(main), func(s *scanner) error {
		if string(s.name) != "Relationship" {
			return nil
		}
		t := resolve(main, attrText(s.attr, "Target"))
		if _, twice := targets[attrText(s.attr, "Id")]; twice {
			return refuse("it names two parts by one relationship (%.40q)", attrText(s.attr, "Id"))
		}
		targets[attrText(s.attr, "Id")] = t
		kind := path.Base(attrText(s.attr, "Type"))
		if single[kind] && kinds[kind] {
			return refuse("it has two parts of type %s", kind)
		}
		kinds[kind] = true
		if kind == "sharedStrings" {
			shared = t
		}
		return nil
	}); err != nil {
		return err
	}
	other := 0 // depth within content that programs choose from
	if err := f.scan(main, func(k kind, s *scanner) error {
		if s.local() == "AlternateContent" && k != chars && !(k == start && s.self) {
			other += map[kind]int{start: 1, end: -1}[k]
		}
		if k != start {
			return nil
		}
		switch string(s.name) {
		case "workbook":
			if s.space != mainSpace && s.space != mainSpaceStrict {
				return refuse("its main part is of an unknown namespace (%.80q)", s.space)
			}
		case "sheet":
			id, ok := s.related("id")
			if !ok || other > 0 {
				return refuse("one of its sheets can be read in two ways: its part is not named, or named twice")
			}
			sh := Sheet{Name: attrText(s.attr, "name"), part: targets[string(id)]}
			for _, o := range f.Sheets {
				if strings.EqualFold(o.Name, sh.Name) || o.part == sh.part {
					return refuse("two of its sheets are one by name or by part (%.40q)", sh.Name)
				}
			}
			state := attrText(s.attr, "state")
			sh.Hidden = state == "hidden" || state == "veryHidden"
			f.Sheets = append(f.Sheets, sh)
			if len(f.Sheets) > MaxParts {
				return refuse("too many sheets")
			}
		case "workbookPr":
			v := attrText(s.attr, "date1904")
			f.Date04 = v == "1" || v == "true"
		}
		return nil
	}); err != nil {
		return err
	}
	if _, ok := f.parts[shared]; ok {
		if err := f.readShared(shared); err != nil {
			return err
		}
	}
	if custom, err := f.related("", "/custom-properties"); err == nil {
		return f.readProps(custom)
	}
	return nil
}

// The main namespace, transitional and strict (ECMA-376 part 1, annex A, from
// memory; the first is also what the library writes).
const (
	mainSpace       = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	mainSpaceStrict = "http://purl.oclc.org/ooxml/spreadsheetml/main"
)

// single are the parts of which a workbook has one: of two, programs take one or the other.
var single = map[string]bool{"sharedStrings": true, "styles": true, "theme": true, "calcChain": true}

func relsOf(part string) string {
	return path.Join(path.Dir(part), "_rels", path.Base(part)+".rels")
}

// resolve is the part that target means, seen from the part from.
func resolve(from, target string) string {
	if strings.HasPrefix(target, "/") {
		return strings.TrimPrefix(path.Clean(target), "/")
	}
	return path.Join(path.Dir(from), target)
}

// related finds the part that the file's own relationships name by type.
func (f *File) related(from, suffix string) (string, error) {
	found := ""
	err := f.each("_rels/.rels", func(s *scanner) error {
		if string(s.name) == "Relationship" && strings.HasSuffix(attrText(s.attr, "Type"), suffix) {
			if t := resolve(from, attrText(s.attr, "Target")); found == "" || found == t {
				found = t
				return nil
			}
			return refuse("it has two parts of type %s", suffix[1:])
		}
		return nil
	})
	if err == nil && found == "" {
		err = refuse("it is not a workbook: no part of type %s", suffix[1:])
	}
	return found, err
}

func (f *File) readShared(name string) error {
	var text []byte
	inT, phonetic := false, 0
	return f.scan(name, func(k kind, s *scanner) (err error) {
		switch {
		case k == start && (string(s.name) == "rPr" || string(s.name) == "rPh" && !s.self):
			if string(s.name) == "rPh" {
				phonetic++
			}
			if f.mixed == nil {
				f.mixed = map[int]bool{}
			}
			f.mixed[len(f.strings)] = true
		case k == start && string(s.name) == "si":
			text = text[:0]
			if s.self {
				f.strings = append(f.strings, "")
			}
		case k == end && string(s.name) == "si":
			if f.strings = append(f.strings, string(unescape(text))); len(f.strings) > MaxCells {
				return refuse("%s: more than %d texts", name, MaxCells)
			}
		case k == end && string(s.name) == "rPh":
			phonetic--
		case k == start && string(s.name) == "t":
			inT = !s.self && phonetic == 0
		case k == end && string(s.name) == "t":
			inT = false
		case k == chars && inT:
			if text, err = appendText(text, s.text, s.cd); err != nil {
				return refuse("%s: %v", name, err)
			}
			if len(text) > MaxText {
				return refuse("%s: a text longer than %d bytes", name, MaxText)
			}
		}
		return nil
	})
}

func (f *File) readProps(name string) error {
	prop, text := "", []byte(nil)
	inText := false
	return f.scan(name, func(k kind, s *scanner) (err error) {
		switch {
		case k == start && string(s.name) == "property":
			prop = attrText(s.attr, "name")
		case k == start && (s.local() == "lpwstr" || s.local() == "bstr"):
			inText, text = !s.self, text[:0]
		case k == end && (s.local() == "lpwstr" || s.local() == "bstr"):
			inText = false
			if len(f.Props) < 1000 {
				f.Props[prop] = string(text)
			}
		case k == chars && inText:
			if text, err = appendText(text, s.text, s.cd); err != nil || len(text) > MaxText {
				return refuse("%s: a property cannot be read", name)
			}
		}
		return nil
	})
}

var buffers = sync.Pool{New: func() any { return new(bytes.Buffer) }}

// Cells calls fn for every cell of a sheet that holds a value or a formula, in
// the order of the file.
func (f *File) Cells(sh Sheet, fn func(Cell) error) error {
	if cells, ok := f.walked[sh.part]; ok {
		for _, c := range cells {
			if err := fn(c); err != nil {
				return err
			}
		}
		return nil
	}
	cells := make([]Cell, 0, 256)
	err := f.walk(sh, func(c Cell) error {
		if len(cells) <= keepCells {
			cells = append(cells, c)
		}
		return fn(c)
	})
	if err == nil && len(cells) <= keepCells {
		f.walked[sh.part] = cells
	}
	return err
}

// walk is Cells read from the file.
func (f *File) walk(sh Sheet, fn func(Cell) error) error {
	buf := buffers.Get().(*bytes.Buffer)
	defer func() {
		if buf.Cap() < 8<<20 {
			buffers.Put(buf)
		}
	}()
	b, err := f.read(sh.part, buf)
	if err != nil {
		return err
	}
	if len(b) <= keepPart {
		f.kept[sh.part] = bytes.Clone(b)
	}
	bad := func(format string, a ...any) error {
		return refuse("sheet %q: %s", sh.Name, fmt.Sprintf(format, a...))
	}
	s := &scanner{b: b}
	other := 0 // depth within content that programs choose from
	var (
		c        Cell
		typ      string
		text     []byte // of <v> or of <is>
		formula  []byte
		take     bool // inside <v> or <t>
		inF      bool // inside <f>
		in       bool // inside <c>
		has      bool
		phonetic int
		values   int // <v> and <is> of the cell
		row      int // by its own tag, 0 if that does not say
	)
	for {
		k, err := s.next()
		if err != nil {
			return bad("%v", err)
		}
		switch k {
		case eof:
			return nil
		case start:
			if s.local() == "AlternateContent" && !s.self {
				other++
			}
			switch string(s.name) {
			case "worksheet":
				if s.space != mainSpace && s.space != mainSpaceStrict {
					return bad("of an unknown namespace (%.80q)", s.space)
				}
			case "sheetData", "row", "mergeCell", "conditionalFormatting":
				if other > 0 {
					return bad("its cells can be read in two ways")
				}
				if string(s.name) == "row" {
					row, _ = strconv.Atoi(string(get(s.attr, "r")))
				}
			case "c":
				if other > 0 {
					return bad("its cells can be read in two ways")
				}
				if f.cells++; f.cells > MaxCells {
					return bad("more than %d cells", MaxCells)
				}
				c, in, has, text, formula, take = Cell{}, !s.self, false, text[:0], formula[:0], false
				if c.Row, c.Col = Place(get(s.attr, "r")); c.Row == 0 {
					return bad("a cell stands nowhere (%.20q)", get(s.attr, "r"))
				}
				if values = 0; row != 0 && row != c.Row {
					return bad("the cell %s stands in the row %d: it can be read in two ways", Name(c.Row, c.Col), row)
				}
				typ = string(get(s.attr, "t"))
				c.Style, _ = strconv.Atoi(string(get(s.attr, "s")))
			case "f":
				c.IsFormula = in
				inF = in && !s.self
				if t := get(s.attr, "t"); t != nil && string(t) != "normal" {
					c.Kind = string(t)
				}
			case "rPr":
				c.Mixed = c.Mixed || in
			case "is":
				values++
			case "v":
				take, has = in && !s.self, in
				values++
			case "rPh": // small letters above it
				c.Mixed = c.Mixed || in
				if !s.self {
					phonetic++
				}
			case "t":
				if in && phonetic == 0 {
					take, has = !s.self, true
				}
			}
		case end:
			if s.local() == "AlternateContent" {
				other--
			}
			switch string(s.name) {
			case "v", "t":
				take = false
			case "f":
				inF = false
			case "rPh":
				phonetic--
			case "c":
				in = false
				if values > 1 {
					return bad("%s has two values: it can be read in two ways", Name(c.Row, c.Col))
				}
				if !has && !c.IsFormula {
					continue
				}
				c.Formula, c.Empty = string(formula), c.IsFormula && len(text) == 0
				if err := f.finish(&c, typ, text, has); err != nil {
					return bad("%s: %v", Name(c.Row, c.Col), err)
				}
				if err := fn(c); err != nil {
					return err
				}
			}
		case chars:
			if inF {
				if formula, err = appendText(formula, s.text, s.cd); err != nil {
					return bad("%v", err)
				}
				if len(formula) > MaxText {
					return bad("%s: a formula longer than %d bytes", Name(c.Row, c.Col), MaxText)
				}
			}
			if take {
				if text, err = appendText(text, s.text, s.cd); err != nil {
					return bad("%v", err)
				}
				if len(text) > MaxText {
					return bad("%s: a text longer than %d bytes", Name(c.Row, c.Col), MaxText)
				}
			}
		}
	}
}

// finish gives the cell its value by the type the file states (ECMA-376 part
// 1, 18.18.11, ST_CellType).
func (f *File) finish(c *Cell, typ string, text []byte, has bool) error {
	switch typ {
	case "s":
		i, err := strconv.Atoi(string(bytes.TrimSpace(text)))
		if err != nil || i < 0 || i >= len(f.strings) {
			return fmt.Errorf("no shared text %.20q", text)
		}
		c.Text, c.Mixed = f.strings[i], c.Mixed || f.mixed[i]
	case "inlineStr", "str", "e":
		c.Text = string(unescape(text))
	case "b":
		c.Text = map[string]string{"1": "TRUE", "0": "FALSE"}[string(bytes.TrimSpace(text))]
	case "", "n":
		t := bytes.TrimSpace(text)
		if !has || len(t) == 0 {
			return nil
		}
		x, err := strconv.ParseFloat(string(t), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("%.20q is not a number", t)
		}
		c.IsNumber, c.Number = true, x
	case "d":
		c.Text = string(text)
	default:
		return errors.New("of an unknown type")
	}
	return nil
}

// Place reads a cell's name such as "AB12"; row 0 means that it is none.
func Place(r []byte) (row, col int) {
	i := 0
	for i < len(r) && r[i] >= 'A' && r[i] <= 'Z' {
		if col = col*26 + int(r[i]-'A') + 1; col > MaxCol {
			return 0, 0
		}
		i++
	}
	if i == 0 || i == len(r) || r[i] == '0' {
		return 0, 0
	}
	for ; i < len(r); i++ {
		if r[i] < '0' || r[i] > '9' {
			return 0, 0
		}
		if row = row*10 + int(r[i]-'0'); row > MaxRow {
			return 0, 0
		}
	}
	return row, col
}

// Name is the inverse of Place.
func Name(row, col int) string {
	var b [12]byte
	i := len(b)
	for ; col > 0; col = (col - 1) / 26 {
		i--
		b[i] = byte('A' + (col-1)%26)
	}
	return string(b[i:]) + strconv.Itoa(row)
}
