package register

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/reports/demo"
	"retrostage/reports/workbook"
)

// stock fills a folder with n workbooks. Above 1,000 the files repeat: what
// grows is the number of files, not the time to make them.
func stock(b testing.TB, dir string, n int) {
	b.Helper()
	const distinct = 1000
	for i := range n {
		sub := filepath.Join(dir, fmt.Sprintf("%02d", i%50))
		if err := os.MkdirAll(sub, 0o755); err != nil {
			b.Fatal(err)
		}
		path := func(i int) string { return filepath.Join(dir, fmt.Sprintf("%02d", i%50), fmt.Sprintf("%06d.xlsx", i)) }
		if i >= distinct {
			x, err := os.ReadFile(path(i % distinct))
			if err == nil {
				err = os.WriteFile(path(i), x, 0o644)
			}
			if err != nil {
				b.Fatal(err)
			}
			continue
		}
		_, x, err := demo.Workbook(11, i, workbook.Options{})
		if err == nil {
			err = os.WriteFile(path(i), x, 0o644)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}

func count1(b testing.TB) int {
	if n, err := strconv.Atoi(os.Getenv("RETROSTAGE_BENCH_FILES")); err == nil {
		return n
	}
	return 60
}

// BenchmarkRegister reads a folder of workbooks and writes the table, and has
// openpyxl make the same table from the same files in the same run. The ratio
// is per file; openpyxl reads at most 100 of them. RETROSTAGE_BENCH_FILES sets
// the number of files. Read twice: as they are, as --quick does, and written again from
// their records. peak-MiB is the largest resident memory while reading.
func BenchmarkRegister(b *testing.B) {
	dir := b.TempDir()
	n := count1(b)
	stock(b, dir, n)
	read := func(o Options) time.Duration {
		debug.FreeOSMemory()
		_ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) // Linux: forget the peak so far
		start := time.Now()
		reg, err := Run(context.Background(), dir, o, nil)
		if err != nil {
			b.Fatal(err)
		}
		if err := reg.WriteCSV(io.Discard); err != nil {
			b.Fatal(err)
		}
		if len(reg.Rows) != n {
			b.Fatalf("%d rows for %d files", len(reg.Rows), n)
		}
		return time.Since(start) / time.Duration(n)
	}
	var quick, rebuilt time.Duration
	for b.Loop() {
		quick = read(Options{})
		b.ReportMetric(peak(), "quick-peak-MiB")
		rebuilt = read(Options{Rebuild: true})
		b.ReportMetric(peak(), "peak-MiB")
	}
	b.ReportMetric(float64(quick.Microseconds())/1000, "quick-ms/file")
	b.ReportMetric(float64(rebuilt.Microseconds())/1000, "ms/file")

	python := "/usr/bin/python3"
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		b.Log("openpyxl is not installed: nothing to compare with")
		return
	}
	var stderr strings.Builder
	cmd := exec.Command(python, filepath.Join("..", "..", "testdata", "register", "baseline.py"), dir, "100")
	cmd.Stderr = &stderr
	if err := cmd.Run(); err != nil {
		b.Fatal(err, stderr.String())
	}
	var files int
	var seconds float64
	if _, err := fmt.Sscan(stderr.String(), &files, &seconds); err != nil {
		b.Fatal(err, stderr.String())
	}
	other := time.Duration(seconds / float64(files) * float64(time.Second))
	b.ReportMetric(float64(other.Microseconds())/1000, "openpyxl-ms/file")
	b.ReportMetric(float64(other)/float64(quick), "quick-times-faster")
	b.ReportMetric(float64(other)/float64(rebuilt), "times-faster")
}

// peak is the largest resident memory of this process in MiB, 0 where the
// system does not tell.
func peak() float64 {
	s, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, rest, ok := strings.Cut(string(s), "VmHWM:")
	if !ok {
		return 0
	}
	kb, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
	if err != nil {
		return 0
	}
	return kb / 1024
}

// BenchmarkRead is one workbook: read as it is (quick), and written again from its record.
func BenchmarkRead(b *testing.B) {
	_, x, err := demo.Workbook(11, 3, workbook.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("quick", func(b *testing.B) {
		for b.Loop() {
			if _, err := workbook.ReadBytes(x); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("rebuilt", func(b *testing.B) {
		for b.Loop() {
			if _, err := workbook.Verify(context.Background(), x); err != nil {
				b.Fatal(err)
			}
		}
	})
}
