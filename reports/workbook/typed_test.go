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
// is closed, and a file that was not stored is opened again by another process. The
// program is ready when its main loop calls back, for its pipe answers earlier; ten minutes
// only end what hangs. Once a document is open nothing waits: idle, the builds without a
// window crash there most (tried with a call back after each cell).
const typePy = `
import os, signal, subprocess, sys, threading, time, uno, unohelper
from com.sun.star.awt import XCallback
from com.sun.star.beans import PropertyValue
class Ready(unohelper.Base, XCallback):
    def __init__(self): self.event = threading.Event()
    def notify(self, data): self.event.set()
def until(what, p):
    end = time.monotonic() + 600
    while not what():
        if p.poll() is not None:
            raise RuntimeError("it ended")
        if time.monotonic() > end:
            raise RuntimeError("it hangs")
        time.sleep(0.1)
soffice, profile, pipe, every = sys.argv[1:5]
def prop(n, v):
    q = PropertyValue(); q.Name = n; q.Value = v; return q
def called(p, ctx): # by the main loop, when it has done what waited there
    ready = Ready()
    ctx.ServiceManager.createInstanceWithContext("com.sun.star.awt.AsyncCallback", ctx).addCallback(ready, None)
    until(ready.event.is_set, p)
def start(k):
    name = pipe + "-" + str(k)
    p = subprocess.Popen([soffice, "-env:UserInstallation=file://" + profile, "--headless", "--norestore", "--nologo", "--nodefault", "--accept=pipe,name=" + name + ";urp;"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    found = []
    def answers():
        try:
            found.append(resolver.resolve("uno:pipe,name=" + name + ";urp;StarOffice.ComponentContext"))
            return True
        except Exception:
            return False
    try:
        until(answers, p)
        called(p, found[0])
    except Exception:
        stop(p)
        raise
    return p, found[0]
def stop(p): # the script and the program that it started
    try:
        os.killpg(p.pid, signal.SIGKILL)
    except ProcessLookupError: # it ended by itself
        pass
    p.wait()
def typed(p, ctx, i, f):
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
        i, f = files[0]
        try:
            if p is None:
                starts += 1
                p, ctx = start(starts)
            typed(p, ctx, i, f)
        except Exception as e:
            tries += 1
            if tries > 8 + len(sys.argv[5:]) // 2:
                raise
            if p is not None:
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
