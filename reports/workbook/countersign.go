package workbook

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/version"
	"retrostage/thermo/units"
)

// propCounter holds the supervisor's statement and its signature on the seal's sheet.
const propCounter = "Retrostage countersignature Ed25519"

// Countersignature is a supervisor's decision under his own key, over the export and
// the tablet's signature of it.
type Countersignature struct {
	Key      string    `json:"key"` // KeyID
	Name     string    `json:"name"`
	Decision string    `json:"decision"`
	Remarks  string    `json:"remarks,omitempty"`
	Time     time.Time `json:"time"`
	Software string    `json:"software"`
	Sign     string    `json:"signature,omitempty"` // base64, over all of the above
}

// message is what is signed: the digests of record and cells, the tablet's signature,
// and the statement without its own.
func (c Countersignature) message(record, cells, tablet string) ([]byte, error) {
	c.Sign = ""
	b, err := json.Marshal(c)
	if err != nil {
		return nil, err
	}
	return []byte("retrostage countersignature 1\n" + record + "\n" + cells + "\n" + tablet + "\n" + string(b) + "\n"), nil
}

// Countersign writes a workbook again with a supervisor's decision in its signature
// block and his key's signature over it. It takes one that is as exported, rebuilt by
// this version and so known to show what its record gives; of one that is signed
// already, or anything else, it says why not.
func Countersign(ctx context.Context, w io.Writer, file []byte, key ed25519.PrivateKey, name, decision, remarks string, at time.Time) error {
	if n := len(key); n != ed25519.PrivateKeySize {
		return fmt.Errorf("key of %d bytes is not an Ed25519 private key of %d", n, ed25519.PrivateKeySize)
	}
	r, err := Verify(ctx, file)
	switch {
	case err != nil:
		return err
	case r.State != AsExported:
		return fmt.Errorf("it is %s; only a workbook as exported is countersigned", r.State)
	case r.Check != Rebuilt:
		return fmt.Errorf("it was written by %s, and this is %s: only the version that wrote it can tell whether it shows what its record says", r.Other, version.String())
	}
	c := Countersignature{Key: KeyID(key.Public().(ed25519.PublicKey)), Name: clip(name), Decision: decision, Remarks: clip(remarks), Time: at.UTC().Truncate(time.Second), Software: version.String()}
	if c.Key == r.KeyID {
		return errors.New("this key exported the workbook: a countersignature is by another")
	}
	s := Signature{Name: c.Name, Date: at.Format(time.DateOnly), Decision: decision, Remarks: c.Remarks}
	if m := s.missing(); len(m) > 0 {
		return fmt.Errorf("not complete: %s", strings.Join(m, ", "))
	}
	if decision == Return && strings.TrimSpace(remarks) == "" {
		return errors.New("a job is returned with remarks: say what is to be put right")
	}
	o := r.options()
	o.Sign = s
	b, raw, err := build(assess.New(r.Job), o)
	if err != nil {
		return err
	}
	defer b.file.Close()
	if digest(raw) != r.Export {
		return errors.New("the record does not give the cells that were exported")
	}
	m, err := c.message(r.Digest, r.Export, r.tablet)
	if err != nil {
		return err
	}
	c.Sign = base64.StdEncoding.EncodeToString(ed25519.Sign(key, m))
	b.kept, b.counter = [2]string{r.KeyID, r.tablet}, &c
	return b.save(w, raw)
}

// options are those with which the workbook was written.
func (out *Reading) options() Options {
	o := Options{Paper: out.paper, Software: out.software, Time: out.Exported, Count: out.Count, Previous: out.Previous, Photos: out.Photos}
	if out.System == units.SI.String() {
		o.System = units.SI
	}
	if k, err := base64.StdEncoding.DecodeString(out.KeyID); err == nil && len(k) == ed25519.PublicKeySize {
		o.public = ed25519.PublicKey(k)
	}
	return o
}

// countersigned reads the supervisor's statement and holds the signature block against
// it. A statement that does not fit its key is no signature but damage done on purpose.
func (out *Reading) countersigned(s *sealRead) error {
	text := s.props[propCounter]
	if text == "" {
		return nil
	}
	b, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return fmt.Errorf("the countersignature is not base64: %w", err)
	}
	var c Countersignature
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&c); err != nil {
		return fmt.Errorf("the countersignature cannot be read: %w", err)
	}
	k, err1 := base64.StdEncoding.DecodeString(c.Key)
	g, err2 := base64.StdEncoding.DecodeString(c.Sign)
	m, err3 := c.message(out.Digest, out.Export, out.tablet)
	if err := errors.Join(err1, err2, err3); err != nil {
		return fmt.Errorf("the countersignature: %w", err)
	}
	if len(k) != ed25519.PublicKeySize || !ed25519.Verify(k, m, g) {
		return errors.New("the countersignature does not fit this workbook: taken from another, or changed on purpose")
	}
	out.Countersigned = &c
	said := Signature{Name: c.Name, Date: out.Signature.Date, Decision: c.Decision, Remarks: c.Remarks}
	if got := out.Signature; got.Name != said.Name || got.Decision != said.Decision || strings.TrimSpace(got.Remarks) != strings.TrimSpace(said.Remarks) || !slices.Contains(days(c.Time), got.Date) {
		out.change(Change{Sheet: "Hand-over", Label: "signature block, against what was countersigned",
			Old: strings.Join([]string{c.Name, c.Time.Format(time.DateOnly), c.Decision, c.Remarks}, ", "), New: strings.Join([]string{got.Name, got.Date, got.Decision, got.Remarks}, ", ")})
	}
	return nil
}

// days are those that a moment may have where it was written down.
func days(t time.Time) []string {
	return []string{t.Add(-14 * time.Hour).Format(time.DateOnly), t.Format(time.DateOnly), t.Add(14 * time.Hour).Format(time.DateOnly)}
}
