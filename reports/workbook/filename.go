package workbook

import (
	"strings"
	"unicode"

	"retrostage/reports/record"
)

// reserved are names that some file systems keep for devices.
var reserved = map[string]bool{"con": true, "prn": true, "aux": true, "nul": true, "conin$": true, "conout$": true}

func init() {
	for _, d := range "0123456789" {
		reserved["com"+string(d)] = true
		reserved["lpt"+string(d)] = true
	}
}

// FileName names the workbook of a job by date of visit, owner reference and
// unit. It is safe on every common file system: ASCII letters, digits and
// single dashes, no device name, at most 100 bytes.
func FileName(j *record.Job) string {
	date := j.Text(record.VisitDate)
	if date == "" {
		date = "undated"
	}
	parts := []string{date}
	if j.Demo {
		parts = append(parts, "DEMO")
	}
	for _, t := range []string{j.Text(record.OwnerRef), j.Text(record.OldUnitSerial), j.ID} {
		if t = Safe(t, 28); t != "" && len(parts) < 4 {
			parts = append(parts, t)
		}
	}
	return strings.Join(parts, "_") + ".xlsx"
}

// Safe turns text into a piece of a file name of at most max bytes: letters
// and digits are kept, everything else becomes a single dash. The result may be
// empty.
func Safe(text string, max int) string {
	var b strings.Builder
	dash := false
	for _, r := range text {
		if r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			dash = b.Len() > 0
			continue
		}
		if dash {
			b.WriteByte('-')
		}
		dash = false
		b.WriteRune(r)
		if b.Len() >= max {
			break
		}
	}
	s := strings.Trim(b.String()[:min(b.Len(), max)], "-")
	if reserved[strings.ToLower(s)] {
		s += "-x"
	}
	return s
}
