package workbook

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook/sheetfile"
)

// State is what has become of a workbook.
type State string

// The states of a workbook that was read back.
const (
	AsExported State = "as exported"                // nothing touched, signature block empty
	PartSigned State = "signature block incomplete" // nothing else touched
	Signed     State = "signed"                     // nothing else touched
	Altered    State = "altered"
	Damaged    State = "not from this program or not whole"
)

// KeyState is what the Ed25519 signature is worth.
type KeyState string

// The states of the key.
const (
	NoKey      KeyState = "not signed by a key"
	KnownKey   KeyState = "signed by a known key"
	UnknownKey KeyState = "signed by a key not known here"
)

// Signature is what the supervisor filled in.
type Signature struct {
	Name     string
	Date     string // ISO 8601; as typed when it is no date
	Decision string // accept, return, or as typed
	Remarks  string
}

// Complete tells whether name, date and decision are there and make sense.
func (s Signature) Complete() bool { return len(s.missing()) == 0 }

func (s Signature) empty() bool { return s == Signature{} }

func (s Signature) missing() []string {
	var m []string
	if !readable(s.Name) {
		m = append(m, "name")
	}
	if _, err := time.Parse(time.DateOnly, s.Date); err != nil {
		m = append(m, "date")
	}
	if s.Decision != Decisions[0] && s.Decision != Decisions[1] {
		m = append(m, "decision")
	}
	return m
}

// readable tells whether a name has a letter that can be seen, and two letters or
// digits, for offices name people by references such as S-1. What a font draws
// nothing for is no letter: the fillers of one script are letters by class, and
// ignorable by property (Unicode Standard, chapter 5.21, from memory).
func readable(name string) bool {
	letters, marks := 0, 0
	for _, r := range name {
		switch {
		case unicode.In(r, unicode.Other_Default_Ignorable_Code_Point, unicode.Cf):
		case unicode.IsLetter(r):
			letters++
			marks++
		case unicode.IsDigit(r):
			marks++
		}
	}
	return letters >= 1 && marks >= 2
}

// Change is one cell that is not as it left.
type Change struct {
	Sheet, Cell string
	Label       string // the first text of the row
	Old, New    string
	Derived     bool // a formula's result: it may follow from another change
}

func (c Change) String() string {
	given, formula := strings.CutSuffix(c.New, " (by a formula)")
	switch {
	case formula && c.Old == "":
		return fmt.Sprintf("%s!%s: a formula that gives %q stands where something is to be typed", c.Sheet, c.Cell, given)
	case c.Label == "picture" || c.Label == "chart":
		return fmt.Sprintf("%s!%s: another %s than the record gives", c.Sheet, c.Cell, c.Label)
	}
	return fmt.Sprintf("%s!%s (%s): %q became %q", c.Sheet, c.Cell, c.Label, c.Old, c.New)
}

// maxChanges bounds the list; More counts the rest.
const maxChanges = 200

// Reading is a workbook read back.
type Reading struct {
	State     State
	Job       *record.Job // as sealed
	System    string
	Digest    string // SHA-256 of the record
	Counts    map[assess.Verdict]int
	Outside   []string // labels of the findings outside their limits, as exported
	Signature Signature
	Missing   []string // of a signature block that was begun
	Changes   []Change
	More      int // changes beyond the list
	Key       KeyState
	KeyID     string // base64 of the public key

	Check    Check
	Other    string   // the version that wrote it, where it is not this one and so was not rebuilt
	Redrawn  []string // pictures and charts that another program left out
	Export   string   // digest of the list of cells: names this export
	Previous string   // the Export that this one follows
	Count    int      // which export of the job by its tablet it is; 0 where that was not counted
	Exported time.Time

	Photos []Photo // that the job had when it was exported

	Undone  []string // titles of steps that are not done
	Charged bool     // the charge was verified by running readings: what the running check needs is within

	Countersigned *Countersignature // by a supervisor's own key, nil if nobody's; it fits this workbook
	Copied        string            // the code of another job or record that stands with the decision, "" if none does

	tablet   string // the tablet's signature
	paper    Paper
	software string
}

// Read reads a workbook back. size is its length in bytes; known are the keys
// of the office's own tablets. A file that cannot be trusted at all gives the
// state Damaged and an error that says why; the job is then nil, or as sealed
// where the seal could still be read.
func Read(r io.ReaderAt, size int64, known ...ed25519.PublicKey) (Reading, error) {
	return read(r, size, false, known)
}

func read(r io.ReaderAt, size int64, rebuild bool, known []ed25519.PublicKey) (Reading, error) {
	out := Reading{State: Damaged, Key: NoKey}
	f, err := sheetfile.Open(r, size)
	if err != nil {
		return out, err
	}
	s := sealRead{props: map[string]string{}}
	if err := s.load(f); err != nil {
		return out, err
	}
	pl, raw, err := unseal(s.text.String())
	if err != nil {
		return out, err
	}
	if err := s.check(f.Props, &pl, raw); err != nil {
		return out, err
	}
	if out.Job, err = record.Decode([]byte(pl.Record)); err != nil {
		return out, fmt.Errorf("the sealed record: %w", err)
	}
	out.System, out.Digest, out.Outside = pl.System, s.props[propRecord], pl.Open
	out.Counts = map[assess.Verdict]int{}
	for v, n := range pl.Counts {
		out.Counts[assess.Verdict(v)] = n
	}
	if out.Key, out.KeyID, err = s.key(f.Props, known); err != nil {
		return out, err
	}
	out.Export, out.Previous, out.Count, out.Exported = s.props[propCells], pl.Previous, pl.Count, pl.Time
	out.tablet, out.paper, out.software, out.Photos = s.props[propSignature], pl.Paper, pl.Software, pl.Photos
	if err := out.compare(f, &pl); err != nil {
		return out, err
	}
	if err := out.compareShown(f, &pl); err != nil {
		return out, err
	}
	if rebuild {
		if err := out.takePhotos(f); err != nil {
			return out, err
		}
		if err := out.rebuild(&pl, raw); err != nil {
			return out, err
		}
	}
	out.Charged, out.Undone = pl.Charged, pl.Undone
	out.decide(pl.Code)
	if err := out.countersigned(&s); err != nil {
		return out, err
	}
	out.Missing = append(out.Missing, out.Signature.missing()...)
	switch {
	case len(out.Changes) > 0:
		out.State = Altered
	case out.Signature.empty():
		out.State = AsExported
	case len(out.Missing) > 0:
		out.State = PartSigned
	default:
		out.State = Signed
	}
	return out, nil
}

// decide takes the code off the decision. One without its code was not chosen from this
// workbook's list, and one with another's was copied.
func (out *Reading) decide(code string) {
	said, with, _ := strings.Cut(strings.Join(strings.Fields(out.Signature.Decision), " "), " ")
	if code == "" || said != Accept && said != Return {
		return
	}
	switch with = strings.ToUpper(with); {
	case with == code:
		out.Signature.Decision = said
	case with == "":
		out.Missing = append(out.Missing, "code with the decision ("+said+" "+code+", as its list offers it)")
		out.Signature.Decision = said
	case len(with) == len(code):
		out.Signature.Decision, out.Copied = said, with
		out.Missing = append(out.Missing, "decision of this job: the one there carries the code "+with+" of another, so the block was copied")
	}
}

// ReadBytes is Read for a file in memory.
func ReadBytes(b []byte, known ...ed25519.PublicKey) (Reading, error) {
	return Read(bytes.NewReader(b), int64(len(b)), known...)
}

// sealRead is the hidden sheet as it was found.
type sealRead struct {
	props map[string]string
	text  strings.Builder
}

func (s *sealRead) load(f *sheetfile.File) error {
	for _, sh := range f.Sheets {
		if sh.Name != sealSheet {
			continue
		}
		name := ""
		return f.Cells(sh, func(c sheetfile.Cell) error {
			switch {
			case c.Col == 1:
				name = c.Text
			case c.Col == 2 && c.Row < sealTop:
				s.props[name] = Unguard(c.Text)
			case c.Col == 2:
				s.text.WriteString(strings.TrimSpace(Unguard(c.Text)))
			}
			return nil
		})
	}
	return fmt.Errorf("not a workbook of this program: it has no seal")
}

// check holds the seal against the digests on the sheet and in the document
// properties. A program that drops the properties leaves the sheet's.
func (s *sealRead) check(props map[string]string, pl *payload, raw []byte) error {
	if v := s.props[propSchema]; v != strconv.Itoa(Schema) {
		return fmt.Errorf("schema %q of the seal is not %d, the one this program reads", v, Schema)
	}
	for _, d := range []struct{ prop, what, got string }{
		{propRecord, "record", digest([]byte(pl.Record))},
		{propCells, "list of cells", digest(raw)},
	} {
		if s.props[d.prop] != d.got {
			return fmt.Errorf("the %s does not fit its digest: damaged, or changed on purpose", d.what)
		}
		if v, ok := props[d.prop]; ok && v != d.got {
			return fmt.Errorf("the digest of the %s in the document properties differs from the sheet's", d.what)
		}
	}
	return nil
}

func (s *sealRead) key(props map[string]string, known []ed25519.PublicKey) (KeyState, string, error) {
	id, sig := s.props[propKey], s.props[propSignature]
	if id == "" && sig == "" {
		if props[propKey] != "" {
			return NoKey, "", fmt.Errorf("the document properties name a key, the seal does not")
		}
		return NoKey, "", nil
	}
	k, err1 := base64.StdEncoding.DecodeString(id)
	g, err2 := base64.StdEncoding.DecodeString(sig)
	if err1 != nil || err2 != nil || len(k) != ed25519.PublicKeySize || !ed25519.Verify(k, message(s.props[propRecord], s.props[propCells]), g) {
		return NoKey, id, fmt.Errorf("the Ed25519 signature does not fit: damaged, or changed on purpose")
	}
	for _, p := range known {
		if bytes.Equal(p, k) {
			return KnownKey, id, nil
		}
	}
	return UnknownKey, id, nil
}

// compare walks the sheets and holds every cell against the seal.
func (out *Reading) compare(f *sheetfile.File, pl *payload) error {
	sign := map[string]string{}
	for n, at := range pl.Sign {
		sign[at] = n
	}
	there := map[string]bool{}
	for _, want := range pl.Sheets {
		there[want.Name] = true
		sh, ok := find(f.Sheets, want.Name)
		if !ok {
			out.change(Change{Sheet: want.Name, Old: "sheet", New: "sheet removed"})
			continue
		}
		if err := out.compareSheet(f, sh, want, sign); err != nil {
			return err
		}
	}
	for _, sh := range f.Sheets {
		if !there[sh.Name] && sh.Name != sealSheet {
			out.change(Change{Sheet: sh.Name, New: "sheet added"})
		}
	}
	return nil
}

func find(sheets []sheetfile.Sheet, name string) (sheetfile.Sheet, bool) {
	for _, s := range sheets {
		if s.Name == name {
			return s, true
		}
	}
	return sheetfile.Sheet{}, false
}

func (out *Reading) change(c Change) {
	if len(out.Changes) < maxChanges {
		out.Changes = append(out.Changes, c)
		return
	}
	out.More++
}

// sealedCell is one entry of the seal, taken apart.
type sealedCell struct {
	row, col int
	kind     byte
	value    string
}

func parseSealed(s string) (sealedCell, bool) {
	n := 0
	for n < len(s) && (s[n] >= 'A' && s[n] <= 'Z' || s[n] >= '0' && s[n] <= '9') {
		n++
	}
	row, col := sheetfile.Place([]byte(s[:n]))
	if row == 0 || n == len(s) || !strings.ContainsRune("snfg", rune(s[n])) {
		return sealedCell{}, false
	}
	return sealedCell{row, col, s[n], s[n+1:]}, true
}

func (out *Reading) compareSheet(f *sheetfile.File, sh sheetfile.Sheet, want sealedSheet, sign map[string]string) error {
	cells := make([]sealedCell, len(want.Cells))
	for i, s := range want.Cells {
		c, ok := parseSealed(s)
		if !ok {
			return fmt.Errorf("the seal lists no cell in %.40q", s)
		}
		cells[i] = c
	}
	look := lookup{cells: cells}
	seen := make([]bool, len(cells))
	formulas := sha256.New()
	var empty []Change // formulas without a value
	err := f.Cells(sh, func(c sheetfile.Cell) error {
		i, ok := look.find(c.Row, c.Col)
		if !ok {
			out.unsealed(sh, c, sign, f.Date04)
			return nil
		}
		if seen[i] {
			return fmt.Errorf("sheet %q has the cell %s twice", sh.Name, sheetfile.Name(c.Row, c.Col))
		}
		seen[i] = true
		if c.IsFormula && cells[i].live() {
			addFormula(formulas, sheetfile.Name(c.Row, c.Col), c.Formula)
			if c.Empty && cells[i].value != "" {
				empty = append(empty, Change{Sheet: sh.Name, Cell: sheetfile.Name(c.Row, c.Col), Label: look.label(c.Row), Old: cells[i].value, Derived: true})
				return nil
			}
		}
		if got, same := cells[i].same(c); !same {
			out.change(Change{Sheet: sh.Name, Cell: sheetfile.Name(c.Row, c.Col), Label: look.label(c.Row), Old: cells[i].value, New: got,
				Derived: c.IsFormula && cells[i].live()})
		}
		return nil
	})
	if err != nil {
		return err
	}
	// Some programs write no values of formulas. Such cells are as they left if
	// every formula of the sheet is; otherwise nothing vouches for them.
	if len(empty) > 0 && hex.EncodeToString(formulas.Sum(nil)) != want.Formulas {
		for _, c := range empty {
			out.change(c)
		}
	}
	for i, ok := range seen {
		if c := cells[i]; !ok && c.value != "" {
			out.change(Change{Sheet: sh.Name, Cell: sheetfile.Name(c.row, c.col), Label: look.label(c.row), Old: c.value})
		}
	}
	return nil
}

// lookup finds sealed cells by place. Files list cells in the order of the
// seal, so the next one is nearly always the one asked for.
type lookup struct {
	cells []sealedCell
	next  int
	at    map[int64]int
}

func (l *lookup) find(row, col int) (int, bool) {
	for l.next < len(l.cells) && l.at == nil {
		switch c := l.cells[l.next]; {
		case c.row == row && c.col == col:
			l.next++
			return l.next - 1, true
		case c.row < row || c.row == row && c.col < col:
			l.next++ // a cell that is gone
			continue
		}
		break
	}
	if l.at == nil {
		l.at = make(map[int64]int, len(l.cells))
		for i, c := range l.cells {
			l.at[key(c.row, c.col)] = i
		}
	}
	i, ok := l.at[key(row, col)]
	return i, ok
}

// label is what a person calls a row: its second column, else its first text.
func (l *lookup) label(row int) string {
	first := ""
	for _, c := range l.cells {
		if c.row != row || c.kind != 's' {
			continue
		}
		if c.col == 2 {
			return Unguard(c.value)
		}
		if first == "" {
			first = Unguard(c.value)
		}
	}
	return first
}

func (s sealedCell) live() bool { return s.kind == 'f' || s.kind == 'g' }

// same holds a cell against its seal. What a formula gave may differ by the
// rounding of another program and the error bound of the saturation table;
// what was entered may not.
func (s sealedCell) same(c sheetfile.Cell) (got string, same bool) {
	got = shown(c)
	if s.live() != c.IsFormula {
		if c.IsFormula {
			return got + " (by a formula)", false
		}
		return got + " (no longer a formula)", false
	}
	switch s.kind {
	case 'n', 'f':
		want, err := strconv.ParseFloat(s.value, 64)
		if err != nil || !c.IsNumber {
			return got, false
		}
		tol := 1e-12 * math.Abs(want)
		if s.kind == 'f' {
			tol = 1e-5 * math.Max(1, math.Abs(want))
		}
		return got, math.Abs(c.Number-want) <= tol
	}
	return got, !c.IsNumber && strings.ReplaceAll(c.Text, "\r\n", "\n") == s.value
}

// shown is a cell as a person would read it.
func shown(c sheetfile.Cell) string {
	if c.IsNumber {
		return strconv.FormatFloat(c.Number, 'g', 15, 64)
	}
	return Unguard(c.Text)
}

// clip bounds what is taken from a cell that anybody can fill in.
func clip(s string) string {
	s = strings.TrimSpace(s)
	if r := []rune(s); len(r) > 4000 {
		return string(r[:4000])
	}
	return s
}

// epoch1900 is day 0 of the usual count of days.
var epoch1900 = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)

// date reads a cell that holds a date, as a day number or as text. Day 60 of
// the 1900 count never was: earlier days are off by one and nobody signs then.
func date(c sheetfile.Cell, date04 bool) string {
	if !c.IsNumber {
		t := strings.TrimSpace(c.Text)
		if len(t) > 10 && t[4] == '-' {
			if _, err := time.Parse(time.DateOnly, t[:10]); err == nil {
				return t[:10]
			}
		}
		return t
	}
	epoch := epoch1900
	if date04 {
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	if c.Number < 61 || c.Number > 100_000 {
		return shown(c)
	}
	return epoch.AddDate(0, 0, int(c.Number)).Format(time.DateOnly)
}

func key(row, col int) int64 { return int64(row)<<20 | int64(col) }

// unsealed deals with a cell that the seal does not list: the signature block,
// strips, and what somebody wrote beside.
func (out *Reading) unsealed(sh sheetfile.Sheet, c sheetfile.Cell, sign map[string]string, date04 bool) {
	name := sheetfile.Name(c.Row, c.Col)
	text := strings.TrimSpace(c.Text)
	if what := sign[sh.Name+"!"+name]; what != "" && c.IsFormula {
		out.change(Change{Sheet: sh.Name, Cell: name, Label: what, New: shown(c) + " (by a formula)"})
		return
	}
	switch sign[sh.Name+"!"+name] {
	case signName:
		out.Signature.Name = clip(shown(c))
	case signDate:
		out.Signature.Date = clip(date(c, date04))
	case signDecision:
		out.Signature.Decision = clip(strings.ToLower(shown(c)))
	case signRemarks:
		out.Signature.Remarks = clip(shown(c))
	default:
		if !c.IsNumber && text == "" || sh.Name == "Findings" && c.Col >= colStrip && (c.IsNumber || strings.ContainsAny(text, stripMarks) && utf8.RuneCountInString(text) == 1) {
			return // a strip; one that the file did not have is told by compareShown
		}
		out.change(Change{Sheet: sh.Name, Cell: name, New: shown(c)})
	}
}
