package workbook

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook/sheetfile"
)

// The vectors of RFC 8032, section 7.1, tests 1 to 3, as several published sources
// restate them (the RFC itself was not at hand). A key from a file signs as they say.
var rfc8032 = []struct{ seed, public, message, signature string }{
	{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
		"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
	{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
		"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
	{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
		"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestRFC8032(t *testing.T) {
	for i, v := range rfc8032 {
		der, err := x509.MarshalPKCS8PrivateKey(ed25519.NewKeyFromSeed(unhex(t, v.seed)))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "key.pem")
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: der}), 0o600); err != nil {
			t.Fatal(err)
		}
		k, err := TabletKey(path)
		if err != nil {
			t.Fatal(err)
		}
		public := k.Public().(ed25519.PublicKey)
		if got := hex.EncodeToString(public); got != v.public || KeyID(public) != base64.StdEncoding.EncodeToString(unhex(t, v.public)) {
			t.Errorf("test %d: public key %s", i+1, got)
		}
		if got := hex.EncodeToString(ed25519.Sign(k, unhex(t, v.message))); got != v.signature {
			t.Errorf("test %d: signature %s", i+1, got)
		}
		if ed25519.Verify(public, append(unhex(t, v.message), 0), unhex(t, v.signature)) {
			t.Errorf("test %d: another message verifies", i+1)
		}
	}
}

// Another implementation finds both signatures of a countersigned workbook good, and
// neither over another message.
func TestOpenSSLVerifies(t *testing.T) {
	t.Parallel()
	tool, err := exec.LookPath("openssl")
	if err != nil {
		t.Skip("openssl is not installed: nobody else verified the signatures")
	}
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	tablet, chief := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{1}, 32)), ed25519.NewKeyFromSeed(bytes.Repeat([]byte{2}, 32))
	var plain, signed bytes.Buffer
	if err := Write(&plain, assess.New(j), Options{Key: tablet}); err != nil {
		t.Fatal(err)
	}
	if err := Countersign(t.Context(), &signed, plain.Bytes(), chief, "S. Pervisor", Accept, "", time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	f, err := sheetfile.Open(bytes.NewReader(signed.Bytes()), int64(signed.Len()))
	if err != nil {
		t.Fatal(err)
	}
	s := sealRead{props: map[string]string{}}
	if err := s.load(f); err != nil {
		t.Fatal(err)
	}
	r, err := ReadBytes(signed.Bytes())
	if err != nil || r.Countersigned == nil {
		t.Fatalf("%+v, %v", r, err)
	}
	second, err := r.Countersigned.message(s.props[propRecord], s.props[propCells], s.props[propSignature])
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, c := range map[string]struct {
		key       ed25519.PrivateKey
		message   []byte
		signature string
	}{"tablet": {tablet, message(s.props[propRecord], s.props[propCells]), s.props[propSignature]}, "supervisor": {chief, second, r.Countersigned.Sign}} {
		der, err := x509.MarshalPKIXPublicKey(c.key.Public())
		if err != nil {
			t.Fatal(err)
		}
		sig, err := base64.StdEncoding.DecodeString(c.signature)
		if err != nil {
			t.Fatal(err)
		}
		for _, good := range []bool{true, false} {
			m := c.message
			if !good {
				m = append(bytes.Clone(m), ' ')
			}
			for file, b := range map[string][]byte{"k": pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der}), "m": m, "s": sig} {
				if err := os.WriteFile(filepath.Join(dir, file), b, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			cmd := exec.Command(tool, "pkeyutl", "-verify", "-pubin", "-inkey", "k", "-rawin", "-in", "m", "-sigfile", "s")
			cmd.Dir = dir
			if out, err := cmd.CombinedOutput(); (err == nil) != good {
				t.Errorf("%s, good %v: %s", name, good, strings.TrimSpace(string(out)))
			}
		}
	}
}
