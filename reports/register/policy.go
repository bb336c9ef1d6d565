package register

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"fmt"
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
	OnePerson     bool        `json:"one_person_shop,omitempty"` // the technician may sign his own work
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
		return nil, fmt.Errorf("policy: %w", err)
	}
	for i, k := range slices.Concat(p.Keys, p.Countersign) {
		if raw, err := base64.StdEncoding.DecodeString(k.Key); err != nil || len(raw) != ed25519.PublicKeySize {
			return nil, fmt.Errorf("policy: key %d (%.60q) is no Ed25519 key in base64", i+1, k.Key)
		}
		for _, day := range []string{k.From, k.Until, k.Revoked} {
			if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
				return nil, fmt.Errorf("policy: key %d: %.40q is no date like 2026-08-14", i+1, day)
			}
		}
	}
	return &p, nil
}

// unchecked is what the row says where nobody made a policy.
const unchecked = "nothing found against it; key and signer were not checked: there is no policy"

// against says what of the policy a signed row does not meet, "" if it meets all.
func (p *Policy) against(row *Row) string {
	var out []string
	if w := p.keyAgainst(row); w != "" {
		out = append(out, w)
	}
	if row.Check != string(workbook.Rebuilt) {
		out = append(out, "it was not rebuilt from its record")
	}
	own := sameName(row.SignedBy, row.Technician)
	switch {
	case row.CounterKey != "":
		if w := listed(p.Countersign, row.CounterKey, row.SignedOn); w != "" {
			out = append(out, "the countersignature: "+w)
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

func (p *Policy) keyAgainst(row *Row) string {
	if row.KeyID == "" {
		return "no tablet's key signed it"
	}
	return listed(p.Keys, row.KeyID, row.Exported)
}

// listed says what is wrong with a key on a day, "" if it is one of the list and in
// force.
func listed(keys []PolicyKey, id, day string) string {
	for _, k := range keys {
		switch {
		case k.Key != id:
			continue
		case k.Revoked != "":
			return "the key of " + k.Who + " was revoked on " + k.Revoked
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
func sameName(a, b string) bool {
	norm := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
	return norm(a) != "" && norm(a) == norm(b)
}

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
		if sameName(row.SignedBy, row.Technician) {
			by += ", self-reviewed"
		}
		return "countersigned by " + by
	case sameName(row.SignedBy, row.Technician):
		return "typed, self-reviewed"
	}
	return "typed"
}
