package register

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"retrostage/reports/workbook"
)

// Policy is what lets an office file a workbook: whose keys, whose signatures. It
// is a JSON file of the office's own.
type Policy struct {
	Keys        []PolicyKey `json:"keys"`
	Supervisors []string    `json:"supervisors"`
	// Countersigned asks for a supervisor's own key, one of these, and not for a typed name.
	Countersigned bool        `json:"countersigned,omitempty"`
	Countersign   []PolicyKey `json:"supervisor_keys,omitempty"`
	// Versions are those of the program whose workbooks count though this version cannot
	// write them again to compare: then their own list, under the tablet's key, is believed.
	Versions  []string `json:"versions,omitempty"`
	OnePerson bool     `json:"one_person_shop,omitempty"` // the technician may sign his own work
	// StepsDone asks that every step is done, under reservations at most.
	StepsDone bool     `json:"steps_done,omitempty"`
	Notes     []string `json:"notes,omitempty"` // for who reads the file
}

// PolicyKey is one tablet's key. Days are ISO 8601; empty is without end.
type PolicyKey struct {
	Key     string `json:"key"`
	Who     string `json:"who"`
	From    string `json:"from,omitempty"`
	Until   string `json:"until,omitempty"`
	Revoked string `json:"revoked,omitempty"` // nothing it signed counts, whenever
}

// ParsePolicy reads a policy. It is strict: what it does not know it refuses.
func ParsePolicy(b []byte) (*Policy, error) {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	var p Policy
	if err := d.Decode(&p); err != nil {
		return nil, plainly(err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("policy: something stands behind its end")
	}
	for name, list := range map[string][]PolicyKey{"keys": p.Keys, "supervisor_keys": p.Countersign} {
		for i := range list {
			k := &list[i]
			raw, err := base64.StdEncoding.DecodeString(k.Key)
			if err != nil || len(raw) != ed25519.PublicKeySize {
				return nil, fmt.Errorf("policy: number %d of %q has no key of 44 letters and figures as \"retrostage policy key\" shows it, but %.60q", i+1, name, k.Key)
			}
			k.Key = base64.StdEncoding.EncodeToString(raw) // one way to write it
			for _, day := range []string{k.From, k.Until, k.Revoked} {
				if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
					return nil, fmt.Errorf("policy: number %d of %q: %.40q is no date like 2026-08-14", i+1, name, day)
				}
			}
		}
	}
	return &p, nil
}

// plainly says in an office's words what is wrong with a policy's form.
func plainly(err error) error {
	var typ *json.UnmarshalTypeError
	var form *json.SyntaxError
	switch {
	case errors.As(err, &typ):
		return fmt.Errorf("policy: %q is of another form than asked for (%s where something else belongs): see the example of \"retrostage policy new\"", cmp.Or(typ.Field, "the whole"), typ.Value)
	case errors.As(err, &form):
		return fmt.Errorf("policy: the form breaks at letter %d: a comma, a quote or a bracket is missing or too many", form.Offset)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("policy: it is empty or cut short")
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Errorf("policy: it knows no entry %s; it knows keys, supervisors, supervisor_keys, countersigned, versions, one_person_shop, steps_done and notes, and of a key: key, who, from, until and revoked", name)
	}
	return fmt.Errorf("policy: %w", err)
}

// Warnings are what a policy lets through or keeps out that an office may not have
// meant.
func (p *Policy) Warnings() (out []string) {
	if len(p.Keys) == 0 {
		out = append(out, "it names no tablet's key (keys): nothing can be filed")
	}
	switch {
	case p.Countersigned && len(p.Countersign) == 0:
		out = append(out, "it asks for countersignatures and names no supervisor's key (supervisor_keys): nothing can be filed")
	case len(p.Supervisors) == 0 && len(p.Countersign) == 0 && !p.OnePerson:
		out = append(out, "it names no supervisor (supervisors or supervisor_keys): nothing can be filed")
	}
	if !p.Countersigned && len(p.Supervisors) > 0 {
		out = append(out, "a typed name counts, and anybody can type a name; \"countersigned\": true asks for a supervisor's key")
	}
	for _, k := range p.Keys {
		if i := slices.IndexFunc(p.Countersign, func(c PolicyKey) bool { return c.Key == k.Key }); i >= 0 {
			out = append(out, "the key of "+k.Who+" is a tablet's and a supervisor's: use two")
		}
	}
	for _, k := range slices.Concat(p.Keys, p.Countersign) {
		if k.Who == "" {
			out = append(out, "a key has nobody beside it (who): whose work it signs cannot be told from whose it is")
		}
	}
	return out
}

// Starter is a policy to be filled in: it lets nothing be filed.
const Starter = `{
  "notes": [
    "Fill in and keep where only the office can write, not in the folder that is read.",
    "keys: one for each tablet, as 'retrostage policy key FILE' shows it; who: whose tablet it is, the technician's reference as jobs have it.",
    "from, until: the days on which an export by that key counts, like 2026-08-14; leave out for no end. revoked: the day on which it was lost; nothing it ever signed counts then.",
    "supervisors: names as they are typed into the sheet, capitals and spaces aside. supervisor_keys: as keys, for 'retrostage countersign'.",
    "countersigned: true takes no typed name. steps_done: true asks that every step is done. one_person_shop: true lets the technician sign his own work.",
    "versions: older versions of the program, as the register names them, whose workbooks count though this one cannot write them again."
  ],
  "keys": [],
  "supervisors": [],
  "supervisor_keys": [],
  "countersigned": false,
  "steps_done": true,
  "one_person_shop": false,
  "versions": []
}
`

// unchecked is what the row says where nobody made a policy.
const unchecked = "nothing found against it; key and signer were not checked: there is no policy"

// against says what of the policy a signed row does not meet, "" if it meets all.
func (p *Policy) against(row *Row) string {
	var out []string
	if w := p.keyAgainst(row); w != "" {
		out = append(out, w)
	}
	switch {
	case row.Check == string(workbook.Rebuilt):
	case row.Other == "":
		out = append(out, "it was not rebuilt from its record")
	case row.Check != string(workbook.Listed) || !slices.Contains(p.Versions, row.Other):
		out = append(out, "it was written by "+row.Other+", which this version cannot rebuild and the policy does not name")
	}
	if w := row.untimely(); w != "" {
		out = append(out, w)
	}
	if p.StepsDone && row.Undone != "" {
		out = append(out, "steps not done: "+row.Undone)
	}
	own := row.own(p)
	switch {
	case row.CounterKey != "":
		if w := listed(p.Countersign, row.CounterKey, row.SignedOn); w != "" {
			out = append(out, "the countersignature: "+w)
		} else if !sameName(row.CounterWho, row.SignedBy) {
			out = append(out, fmt.Sprintf("it was countersigned with the key of %s under the name %.60q", row.CounterWho, row.SignedBy))
		}
		if own && !p.OnePerson {
			out = append(out, "the technician signed his own work")
		}
	case p.Countersigned:
		out = append(out, "no supervisor's key countersigned it")
	case own && !p.OnePerson:
		out = append(out, "the technician signed his own work")
	case own: // allowed, and told by signedHow
	case !slices.ContainsFunc(p.Supervisors, func(s string) bool { return sameName(s, row.SignedBy) }):
		out = append(out, fmt.Sprintf("%.60q is on no list of supervisors", row.SignedBy))
	}
	return strings.Join(out, "; ")
}

// own tells whether who signed is who did the work: by the technician's reference, by his
// own signature in the record, or by whose the tablet's key is; of a countersignature by
// whose its key is, too, whatever name was typed.
func (row *Row) own(p *Policy) bool {
	for _, signer := range []string{row.SignedBy, row.CounterWho} {
		for _, worker := range []string{row.Technician, row.TechName, who(p.Keys, row.KeyID)} {
			if sameName(signer, worker) {
				return true
			}
		}
	}
	return false
}

// untimely says which of a row's days contradict each other or have not come: the key's
// days are held against the day of the export, which is the tablet's word.
func (row *Row) untimely() string {
	at, err := time.Parse(time.DateOnly, row.Exported)
	if err != nil {
		return ""
	}
	day := func(days int) string { return at.AddDate(0, 0, days).Format(time.DateOnly) }
	switch { // a day's grace, for the export is told by universal time
	case row.Visit != "" && day(1) < row.Visit:
		return "it says to be exported on " + row.Exported + ", before its visit"
	case row.SignedOn != "" && row.SignedOn < day(-1):
		return "it says to be exported on " + row.Exported + ", after it was signed"
	case row.ExportAhead:
		return "it says to be exported on " + row.Exported + ", which has not come"
	}
	return ""
}

func (p *Policy) keyAgainst(row *Row) string {
	if row.KeyID == "" {
		return "no tablet's key signed it"
	}
	return listed(p.Keys, row.KeyID, row.Exported)
}

// listed says what is wrong with a key on a day, "" if it is one of the list and in
// force. Revoked in one line it is revoked, whatever another says.
func listed(keys []PolicyKey, id, day string) string {
	for _, k := range keys {
		if k.Key == id && k.Revoked != "" {
			return "the key of " + k.Who + " was revoked on " + k.Revoked
		}
	}
	for _, k := range keys {
		switch {
		case k.Key != id:
			continue
		case day == "" || k.From != "" && day < k.From || k.Until != "" && day > k.Until:
			return "the key of " + k.Who + " was not in force on the day of the export"
		}
		return ""
	}
	return "its key is not one of the office's"
}

// who is the name that the office's list gives a key, "" if it is on none.
func who(keys []PolicyKey, id string) string {
	for _, k := range keys {
		if k.Key == id {
			return k.Who
		}
	}
	return ""
}

// sameName holds names against each other without regard to case and spaces.
func sameName(a, b string) bool { return norm(a) != "" && norm(a) == norm(b) }

func norm(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// signedHow says what the signature is: typed into a cell, which anybody can do.
func (row *Row) signedHow() string {
	switch {
	case row.SignedBy == "":
		return ""
	case row.CounterKey != "":
		by := row.SignedBy + ", by a key on no list here"
		if row.CounterWho != "" {
			by = row.CounterWho
		}
		if row.Own {
			by += ", self-reviewed"
		}
		return "countersigned by " + by
	case row.Own:
		return "typed, self-reviewed"
	}
	return "typed"
}
