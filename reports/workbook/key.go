package workbook

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"retrostage/reports/archive"
)

const keyBlock = "PRIVATE KEY" // RFC 7468, section 10

// TabletKey is the Ed25519 key with which a tablet signs what it exports, kept
// in the file path as PKCS #8 in PEM, readable by its owner alone. It is made
// there when there is none. Whoever has the file can sign as the tablet.
func TabletKey(path string) (ed25519.PrivateKey, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return newKey(path)
	}
	if err != nil {
		return nil, err
	}
	if p := info.Mode().Perm(); runtime.GOOS != "windows" && p&0o077 != 0 { // Windows keeps no such bits
		return nil, fmt.Errorf("%s: others may read this private key (mode %o); take their rights away, or make a new key if somebody had it", path, p)
	}
	b, err := archive.Read(path, 64<<10)
	if err != nil {
		return nil, err
	}
	k, err := parseKey(b)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return k, nil
}

func newKey(path string) (ed25519.PrivateKey, error) {
	_, k, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(k)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	err = errors.Join(pem.Encode(f, &pem.Block{Type: keyBlock, Bytes: der}), f.Sync(), f.Close())
	if err != nil {
		return nil, errors.Join(err, os.Remove(path))
	}
	return k, nil
}

func parseKey(b []byte) (ed25519.PrivateKey, error) {
	p, _ := pem.Decode(b)
	if p == nil || p.Type != keyBlock {
		return nil, errors.New("no private key in PEM")
	}
	k, err := x509.ParsePKCS8PrivateKey(p.Bytes)
	if err != nil {
		return nil, fmt.Errorf("private key: %w", err)
	}
	e, ok := k.(ed25519.PrivateKey)
	if !ok {
		return nil, fmt.Errorf("a key of kind %T is not an Ed25519 one", k)
	}
	return e, nil
}

// KeyID is how a key is named in a workbook and in the office's list: its
// public half in base64.
func KeyID(k ed25519.PublicKey) string { return base64.StdEncoding.EncodeToString(k) }

// KnownKeys reads the office's list of its tablets' keys: one KeyID a line, then
// if wanted a space and a name; empty lines and what follows a # are left out.
// The error names the line.
func KnownKeys(list string) ([]ed25519.PublicKey, error) {
	var ks []ed25519.PublicKey
	n := 0
	for line := range strings.Lines(list) {
		n++
		line, _, _ = strings.Cut(line, "#")
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		word := strings.Fields(line)[0]
		k, err := base64.StdEncoding.DecodeString(word)
		if err != nil || len(k) != ed25519.PublicKeySize {
			return nil, fmt.Errorf("line %d: %.60q is no Ed25519 key in base64", n, word)
		}
		ks = append(ks, k)
	}
	return ks, nil
}
