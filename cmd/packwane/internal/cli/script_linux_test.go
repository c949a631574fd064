package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/rogpeppe/go-internal/testscript"
)

func init() {
	conditions["mount"] = canMount
	conditions["root"] = func() bool { return os.Getuid() == 0 }
	conditions["full"] = hasFull
	commands["nobody"] = cmdNobody
	commands["full"] = cmdFull
	commands["smalldisk"] = cmdSmallDisk
}

// nobodyID is a user that owns nothing.
const nobodyID = 65534

// cmdNobody runs a command as another user than root, who may write anywhere.
func cmdNobody(ts *testscript.TestScript, neg bool, args []string) {
	want := wantStatus(ts, neg, args)
	program, err := exec.LookPath(args[1])
	ts.Check(err)
	openUp(ts, filepath.Dir(program))
	openUp(ts, ts.MkAbs("."))
	c := exec.Command(program, args[2:]...)
	c.Dir = ts.MkAbs(".")
	c.Env = append(os.Environ(), "NOW="+ts.Getenv("NOW"), "HOME="+ts.Getenv("WORK"), "XDG_DATA_HOME="+ts.Getenv("XDG_DATA_HOME"))
	c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobodyID, Gid: nobodyID}}
	var stdout, stderr bytes.Buffer
	c.Stdout, c.Stderr = &stdout, &stderr
	checkStatus(ts, want, c.Run(), stderr.String())
	ts.Logf("%s%s", stdout.String(), stderr.String())
	if want != 0 {
		checkOneLine(ts, stdout.String(), stderr.String())
	}
}

// openUp lets other users pass through dir and the temporary folders above it.
func openUp(ts *testscript.TestScript, dir string) {
	for ; strings.HasPrefix(dir, os.TempDir()+"/"); dir = filepath.Dir(dir) {
		info, err := os.Stat(dir)
		ts.Check(err)
		ts.Check(os.Chmod(dir, info.Mode().Perm()|0o011))
	}
}

// cmdSmallDisk mounts a disk in memory of so many bytes.
func cmdSmallDisk(ts *testscript.TestScript, _ bool, args []string) {
	dir := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(dir, 0o755))
	ts.Check(mountSmall(dir, args[1]))
	ts.Defer(func() { ts.Check(syscall.Unmount(dir, 0)) })
}

func mountSmall(dir, bytes string) error {
	return syscall.Mount("packwane-test", dir, "tmpfs", 0, "size="+bytes)
}

func canMount() bool {
	dir, err := os.MkdirTemp("", "packwane-mount")
	if err != nil {
		return false
	}
	defer os.Remove(dir)
	if mountSmall(dir, "65536") != nil {
		return false
	}
	return syscall.Unmount(dir, 0) == nil
}

// cmdFull runs a command whose standard output has no room.
func cmdFull(ts *testscript.TestScript, neg bool, args []string) {
	want := wantStatus(ts, neg, args)
	program, err := exec.LookPath(args[1])
	ts.Check(err)
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	ts.Check(err)
	defer full.Close()
	c := exec.Command(program, args[2:]...)
	c.Dir, c.Stdout = ts.MkAbs("."), full
	c.Env = append(os.Environ(), "NOW="+ts.Getenv("NOW"), "HOME="+ts.Getenv("WORK"))
	var stderr bytes.Buffer
	c.Stderr = &stderr
	checkStatus(ts, want, c.Run(), stderr.String())
	checkOneLine(ts, "", stderr.String())
}

func hasFull() bool {
	_, err := os.Stat("/dev/full")
	return err == nil
}
