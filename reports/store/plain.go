package store

import (
	"bytes"
	"unicode/utf8"

	"retrostage/reports/record"
)

// plainEntry reads an entry as this program writes it, members in their order and
// nothing that is escaped: most of what a job is opened from. Whatever is written in
// another way is not its business (ok is false); what it reads, strictly reads to the
// same.
func plainEntry(b []byte) (e record.Entry, ok bool) {
	r := plain{b: b}
	if !r.skip(`{"entry":{"key":`) {
		return e, false
	}
	if e.Key.UnmarshalText(r.text()) != nil || !r.skip(`,"value":`) {
		return e, false
	}
	e.Value = string(r.text())
	if r.skip(`,"unit":`) {
		e.Unit = string(r.text())
	}
	if r.skip(`,"typed":`) {
		e.Typed = string(r.text())
	}
	if !r.skip(`,"time":`) {
		return e, false
	}
	if e.Time.UnmarshalText(r.text()) != nil {
		return e, false
	}
	if r.skip(`,"instrument":`) {
		e.Instrument = string(r.text())
	}
	if r.skip(`,"by":`) {
		e.By = string(r.text())
	}
	if r.skip(`,"again":true`) {
		e.Again = true
	}
	if r.skip(`,"visit":`) {
		e.Visit = string(r.text())
	}
	return e, r.skip(`}}`) && len(r.b) == 0 && !r.odd
}

// plain is what is left to be read; odd tells that something was not plain.
type plain struct {
	b   []byte
	odd bool
}

func (r *plain) skip(s string) bool {
	if len(r.b) < len(s) || string(r.b[:len(s)]) != s {
		return false
	}
	r.b = r.b[len(s):]
	return true
}

// text is a string without an escape.
func (r *plain) text() []byte {
	if !r.skip(`"`) {
		r.odd = true
		return nil
	}
	n := bytes.IndexByte(r.b, '"')
	if n < 0 {
		r.odd = true
		return nil
	}
	t := r.b[:n]
	r.b = r.b[n+1:]
	for _, c := range t {
		if c < ' ' || c == '\\' {
			r.odd = true
		}
	}
	r.odd = r.odd || !utf8.Valid(t)
	return t
}
