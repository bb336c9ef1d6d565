package workbook_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// typePy types into the signature block of workbooks by LibreOffice's own command for
// what is typed into a cell (EnterString, which reads dates as a person's), and saves.
// Builds without a window crash now and then on opening or closing a document: nothing
// is closed, and a file that was not stored is opened again by another process.
const typePy = `
import os, signal, subprocess, sys, time, uno
from com.sun.star.beans import PropertyValue
soffice, profile, pipe, every = sys.argv[1:5]
def prop(n, v):
    q = PropertyValue(); q.Name = n; q.Value = v; return q
def start(k):
    name = pipe + "-" + str(k)
    p = subprocess.Popen([soffice, "-env:UserInstallation=file://" + profile, "--headless", "--norestore", "--nologo", "--nodefault", "--accept=pipe,name=" + name + ";urp;"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    for i in range(240):
        try:
            ctx = resolver.resolve("uno:pipe,name=" + name + ";urp;StarOffice.ComponentContext")
            break
        except Exception:
            time.sleep(0.25)
    time.sleep(3) # the pipe answers before the program can open a document
    return p, ctx
def stop(p): # the script and the program that it started
    os.killpg(p.pid, signal.SIGKILL); p.wait()
def typed(ctx, i, f):
    sm = ctx.ServiceManager
    desk = sm.createInstanceWithContext("com.sun.star.frame.Desktop", ctx)
    disp = sm.createInstanceWithContext("com.sun.star.frame.DispatchHelper", ctx)
    doc = desk.loadComponentFromURL(uno.systemPathToFileUrl(f), "_blank", 0, (prop("Hidden", True),))
    c = doc.getCurrentController()
    def put(n, v):
        c.select(doc.NamedRanges.getByName(n).getReferredCells())
        disp.executeDispatch(c.getFrame(), ".uno:EnterString", "", 0, (prop("StringName", v),))
    with open(f + ".code") as k:
        code = k.read()
    put("sign_name", ["S. Pervisor", "Zoë Ångström", "李 小龙", "O'Neil"][i % 4])
    put("sign_date", ["2026-11-02", "11/02/2026", "11/2/26", "Nov 2, 2026"][i % 4])
    put("sign_decision", ["accept " + code, "return " + code, "Accept " + code, "ACCEPT " + code.lower()][i % 4])
    if i % 4 > 0:
        put("sign_remarks", ["", "see the breaker", "1/2", "'=SUM(1,2) is not meant"][i % 4])
    doc.store()
p, tries, starts = None, 0, 0
files = [(int(every) * i + int(every) - 1, f) for i, f in enumerate(sys.argv[5:])] # which of the four ways
try:
    while files:
        if p is None:
            starts += 1
            p, ctx = start(starts)
        i, f = files[0]
        try:
            typed(ctx, i, f)
        except Exception as e:
            tries += 1
            if tries > 8 + len(sys.argv[5:]) // 2:
                raise
            stop(p); p = None
            lock = os.path.join(os.path.dirname(f), ".~lock." + os.path.basename(f) + "#")
            if os.path.exists(lock):
                os.remove(lock)
            continue
        files.pop(0)
        stop(p); p = None # a second document crashes it more often than not
    print("%d processes, %d crashes" % (starts, tries))
finally:
    if p is not None:
        stop(p)
`

// A signature that a person types into LibreOffice is told as typed there: signed, by
// that name and on that day, and never altered, though the workbook is written again
// from its record and compared.
func TestLibreOfficeTypes(t *testing.T) {
	t.Parallel()
	const py = "/usr/bin/python3"
	soffice, err := exec.LookPath("soffice")
	if err != nil || exec.Command(py, "-c", "import uno").Run() != nil {
		t.Skip("LibreOffice with its Python bridge is not installed: nothing was typed into it")
	}
	if testing.Short() {
		t.Skip("another program is slow, and shares no memory with this one")
	}
	// A process for each: in the usual run the second and the last of the four ways, whose
	// dates a program has to read; all of them in a soak.
	n, every := soak.Count(2, 40), soak.Count(2, 1)
	dir := t.TempDir()
	var files []string
	for i := range n {
		b := make1(t, 78, i, workbook.Options{System: units.System(i / 4 % 2), Paper: workbook.Paper(i / 2 % 2), Key: tabletKey()})
		r, err := workbook.ReadBytes(b)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, fmt.Sprintf("job-%03d.xlsx", i))
		for to, data := range map[string][]byte{path: b, path + ".code": []byte(workbook.DecisionCode(r.Digest))} {
			if err := os.WriteFile(to, data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		files = append(files, path)
	}
	args := append([]string{"-c", typePy, soffice, filepath.Join(dir, "profile"), fmt.Sprint("typed", os.Getpid()), fmt.Sprint(every)}, files...)
	out, err := exec.Command(py, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("LibreOffice: %s", out)
	names := []string{"S. Pervisor", "Zoë Ångström", "李 小龙", "O'Neil"}
	wrong := 0
	for i, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		r, err := verify(b)
		i = every*i + every - 1
		want := workbook.Accept
		if i%4 == 1 {
			want = workbook.Return
		}
		if err != nil || r.State != workbook.Signed || r.Check != workbook.Rebuilt || r.Countersigned != nil || r.Signature.Name != names[i%4] || r.Signature.Date != "2026-11-02" || r.Signature.Decision != want {
			wrong++
			t.Errorf("%s: %s, %s, %v, %+v, %.700v", f, r.State, r.Check, err, r.Signature, r.Changes)
		}
	}
	t.Logf("%d workbooks typed into, %d not called signed", len(files), wrong)
}
