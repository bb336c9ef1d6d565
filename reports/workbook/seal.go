package workbook

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"
	"time"

	"retrostage/reports/assess"

	"github.com/xuri/excelize/v2"
)

// The document properties of a workbook.
const (
	propSchema    = "Retrostage schema"
	propRecord    = "Retrostage record SHA-256"
	propCells     = "Retrostage cells SHA-256"
	propKey       = "Retrostage key Ed25519"
	propSignature = "Retrostage signature Ed25519"
)

const (
	sealSheet = "Seal"
	sealTop   = 8     // first row of the payload
	sealChunk = 30000 // characters per cell; a cell takes 32767
)

// payload is what the seal holds: the canonical record, where the signature
// block is, and every cell as it left.
type payload struct {
	Schema int               `json:"schema"`
	System string            `json:"system"`
	Record string            `json:"record"`
	Sign   map[string]string `json:"sign"` // name -> sheet!cell
	Counts map[string]int    `json:"counts"`
	Open   []string          `json:"open"` // labels of the findings outside their limits
	Sheets []sealedSheet     `json:"sheets"`

	Software string    `json:"software,omitempty"` // what wrote it, its version and revision
	Time     time.Time `json:"time,omitzero"`      // when it was exported
	Paper    Paper     `json:"paper,omitempty"`
	Count    int       `json:"count,omitempty"`    // exports of this job by the tablet, this one included
	Previous string    `json:"previous,omitempty"` // digest of the list of cells of the one before
	Charged  bool      `json:"charged,omitempty"`  // running readings verify the charge
	Undone   []string  `json:"undone,omitempty"`   // steps that are not done, Hand-over left out
	Code     string    `json:"code,omitempty"`     // goes with a decision
	Photos   []Photo   `json:"photos,omitempty"`
	Shown    []string  `json:"shown,omitempty"` // place, what and value of all that is shown beside the values, tabs between
}

// sealedSheet lists cells as "A1<kind><value>", kind s for text, n for a
// number, f for a live number, g for live text. Formulas is the digest of its
// formulas, for files from programs that write formulas without their values.
type sealedSheet struct {
	Name     string   `json:"name"`
	Cells    []string `json:"cells"`
	Formulas string   `json:"formulas,omitempty"`
}

// addFormula adds one formula to the digest of a sheet's, in the order of
// rows and columns.
func addFormula(h hash.Hash, at string, formula string) {
	io.WriteString(h, at)
	h.Write([]byte{'='})
	io.WriteString(h, formula)
	h.Write([]byte{'\n'})
}

func digest(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// signed is the message under the Ed25519 signature.
func message(record, cells string) []byte {
	return []byte("retrostage workbook 1\n" + record + "\n" + cells + "\n")
}

// number writes x so that it reads back to the same float64, within the 15
// digits that spreadsheet programs keep.
func sealNumber(x float64) string { return strconv.FormatFloat(x, 'g', 15, 64) }

func sealed(at string, c cell) (string, bool) {
	kinds := [2]byte{'n', 's'}
	if c.formula != "" {
		kinds = [2]byte{'f', 'g'}
	}
	switch v := c.value.(type) {
	case float64:
		return at + string(kinds[0]) + sealNumber(v), true
	case int:
		return at + string(kinds[0]) + sealNumber(float64(v)), true
	case string:
		if v == "" && c.formula == "" {
			return "", false
		}
		if c.formula == "" {
			v = Guard(v)
		}
		return at + string(kinds[1]) + v, true
	}
	return "", false
}

// payload gathers the record and the cells of the pages.
func (b *book) payload(canonical []byte) payload {
	pl := payload{Schema: Schema, System: b.opts.System.String(), Record: string(canonical), Sign: map[string]string{},
		Software: b.opts.Software, Time: b.opts.Time.UTC(), Paper: b.opts.Paper, Count: b.opts.Count, Previous: b.opts.Previous, Code: DecisionCode(b.digest), Photos: b.opts.Photos}
	pl.Undone = b.undone()
	pl.Counts = map[string]int{}
	for v, n := range b.rep.Count() {
		pl.Counts[string(v)] = n
	}
	for _, f := range b.rep.Findings {
		if f.Verdict == assess.Outside {
			pl.Open = append(pl.Open, f.Label)
		}
	}
	for _, k := range []string{"superheat_error", "subcooling"} { // by the metering device one or the other is judged
		f, ok := b.rep.Find(k)
		pl.Charged = pl.Charged || ok && f.Verdict == assess.Within
	}
	for _, n := range []string{signName, signDate, signDecision, signRemarks} {
		pl.Sign[n] = strings.NewReplacer("'", "", "$", "").Replace(b.names[n])
	}
	for _, p := range b.pages {
		s := sealedSheet{Name: p.name}
		formulas := sha256.New()
		for r, row := range p.rows {
			for c, x := range row {
				if x.open || x.look.kind == blank {
					continue
				}
				if t, ok := sealed(ref(r+1, c+1), x); ok {
					s.Cells = append(s.Cells, t)
					if x.formula != "" {
						addFormula(formulas, ref(r+1, c+1), x.formula)
					}
				}
			}
		}
		s.Formulas = hex.EncodeToString(formulas.Sum(nil))
		pl.Sheets = append(pl.Sheets, s)
	}
	return pl
}

// seal builds the hidden sheet that carries the payload.
func (b *book) seal(raw []byte) (*page, error) {
	var z bytes.Buffer
	g, _ := gzip.NewWriterLevel(&z, gzip.BestSpeed)
	if _, err := g.Write(raw); err != nil {
		return nil, err
	}
	if err := g.Close(); err != nil {
		return nil, err
	}
	cells := digest(raw)
	props := [][2]string{{propSchema, strconv.Itoa(Schema)}, {propRecord, b.digest}, {propCells, cells}}
	if k := b.opts.Key; k != nil {
		props = append(props,
			[2]string{propKey, KeyID(k.Public().(ed25519.PublicKey))},
			[2]string{propSignature, base64.StdEncoding.EncodeToString(ed25519.Sign(k, message(b.digest, cells)))})
	}
	if b.kept[0] != "" {
		props = append(props, [2]string{propKey, b.kept[0]}, [2]string{propSignature, b.kept[1]})
	}
	if b.counter != nil {
		c, err := json.Marshal(b.counter)
		if err != nil {
			return nil, err
		}
		props = append(props, [2]string{propCounter, base64.StdEncoding.EncodeToString(c)})
	}
	p := newPage(sealSheet, sealSheet, 32, 90)
	p.secret = true
	p.text(1, 1, title, "Seal: the record and the cells as they left")
	for i, kv := range props {
		p.text(2+i, 1, label, kv[0])
		p.text(2+i, 2, code, kv[1])
		if kv[0] == propCounter {
			continue // too long for a property of the document
		}
		if err := b.file.SetCustomProps(excelize.CustomProperty{Name: kv[0], Value: kv[1]}); err != nil {
			return nil, err
		}
	}
	text := base64.StdEncoding.EncodeToString(z.Bytes())
	for r := sealTop; text != ""; r++ {
		n := min(len(text), sealChunk)
		p.text(r, 1, label, "payload")
		p.text(r, 2, code, text[:n])
		p.heights[r] = 15
		text = text[n:]
	}
	return p, nil
}

// unseal undoes the packing of the payload, within limits.
func unseal(text string) (payload, []byte, error) {
	z, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return payload{}, nil, fmt.Errorf("the seal is not base64: %w", err)
	}
	g, err := gzip.NewReader(bytes.NewReader(z))
	if err != nil {
		return payload{}, nil, fmt.Errorf("the seal is not packed as it should be: %w", err)
	}
	raw, err := io.ReadAll(io.LimitReader(g, maxPayload+1))
	switch {
	case err != nil:
		return payload{}, nil, fmt.Errorf("the seal is torn: %w", err)
	case len(raw) > maxPayload:
		return payload{}, nil, fmt.Errorf("the seal unpacks to more than %d bytes", maxPayload)
	}
	var pl payload
	if err := json.Unmarshal(raw, &pl); err != nil {
		return payload{}, nil, fmt.Errorf("the seal cannot be read: %w", err)
	}
	return pl, raw, nil
}

const maxPayload = 32 << 20
