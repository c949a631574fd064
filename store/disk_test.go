//go:build linux

package store

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"golang.org/x/sys/unix"
)

// smallDisk mounts a disk of one MiB, where the test may.
func smallDisk(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("packwane-test", dir, "tmpfs", 0, "size=1m"); err != nil {
		t.Skipf("cannot mount a small disk: %v", err)
	}
	t.Cleanup(func() { unix.Unmount(dir, unix.MNT_DETACH) })
	return dir
}

// On a full disk an import says so, changes nothing and leaves nothing, both
// in one transaction and into a new file.
func TestFullDisk(t *testing.T) {
	for _, limit := range []int{50_000, 10} {
		set(t, &bulk, limit)
		path := filepath.Join(smallDisk(t), "log.packwane")
		_, err := Import(path, entries(fleet(2, 6000)...), "", noon)
		wantErr(t, err, syscall.ENOSPC, "the disk is full", "nothing was changed")
		if names := beside(t, path); len(names) > 0 {
			t.Errorf("left behind: %v", names)
		}
		if _, err := Import(path, entries(fleet(2, 100)...), "", noon); err != nil {
			t.Fatal(err)
		}
		s := open(t, path, ReadWrite)
		before := export(t, s, true)
		_, err = s.Import(entries(fleet(2, 6000)...), "", noon)
		wantErr(t, err, syscall.ENOSPC, "the disk is full", "nothing was changed")
		if after := export(t, s, true); after != before {
			t.Error("a failed import changed the store")
		}
		must(s.Put(ride("small", "pack-0", "", 1, noon, 1), 0, "", noon))(t) // the store goes on
		fill := filepath.Join(filepath.Dir(path), "fill")
		if err := os.WriteFile(fill, make([]byte, 1<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
			t.Fatal(err)
		}
		s.Close()
		wantErr(t, second(backup(path, filepath.Join(filepath.Dir(path), "backup"), false)), syscall.ENOSPC, "backup", "the disk is full")
		s = open(t, path, ReadWrite)
		more := 0
		for err = nil; err == nil && more < 1000; more++ { // the file has room left inside
			r := ride("", "pack-0", "", 1, noon, float64(more))
			r.Note = strings.Repeat("long ", 800)
			_, err = s.Put(r, 0, "", noon)
		}
		wantErr(t, err, syscall.ENOSPC, "the disk is full", "nothing was changed")
		if err := os.Remove(fill); err != nil {
			t.Fatal(err)
		}
		must(s.Put(ride("one more", "pack-0", "", 1, noon, 1), 0, "", noon))(t)
		if n := strings.Count(export(t, s, true), "\n"); n != strings.Count(before, "\n")+1+more {
			t.Errorf("%d records, want %d", n, strings.Count(before, "\n")+1+more)
		}
		s.Close()
		if names := beside(t, path); len(names) != 2 {
			t.Errorf("left behind: %v", names)
		}
		check(t, path)
	}
}

// In a folder that is read-only, and with a file that is, reading works and
// writing is refused. Run by root, who may do anything, the test runs once more
// as another user.
func TestReadOnlyFolder(t *testing.T) {
	if os.Getuid() == 0 {
		asNobody(t)
		return
	}
	dir := os.Getenv("PACKWANE_TEST_FOLDER")
	if dir == "" {
		dir = t.TempDir()
	}
	path := filepath.Join(dir, "log.packwane")
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(1, 3)...))
	s.Close()
	os.Remove(lockPath(path))
	if err := os.Chmod(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o700)
	r := open(t, path, ReadOnly) // reading works, without a gate
	if n := len(must(r.PackRecords("pack-0"))(t)); n != 6 {
		t.Errorf("%d records, want 6", n)
	}
	r.Close()
	_, err := Open(filepath.Join(dir, "other"), ReadWrite)
	wantErr(t, err, fs.ErrPermission, "permission denied", "--store")
	_, err = Open(filepath.Join(dir, "below", "other"), ReadWrite)
	wantErr(t, err, fs.ErrPermission, "permission denied", "--store")
	if err := os.Chmod(path, 0o400); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(path)
	_, err = Open(path, ReadWrite)
	wantErr(t, err, fs.ErrPermission, "permission denied")
	if after, _ := os.ReadFile(path); !bytes.Equal(after, before) {
		t.Error("the store was changed")
	}
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	_, err = Open(path, ReadOnly)
	wantErr(t, err, fs.ErrPermission, "permission denied")
}

func asNobody(t *testing.T) {
	t.Helper()
	dir, err := os.MkdirTemp("", "packwane-test-*")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	const nobody = 65534
	binary := filepath.Join(dir, "store.test")
	if err := copyFile(os.Args[0], binary); err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(dir, "store")
	err = errors.Join(os.Chmod(binary, 0o755), os.Chmod(dir, 0o755), os.Mkdir(folder, 0o700), os.Chown(folder, nobody, nobody))
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(binary, "-test.run=^TestReadOnlyFolder$", "-test.v")
	child.Dir = folder
	child.Env = append(os.Environ(), "PACKWANE_TEST_FOLDER="+folder)
	child.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	out, err := child.CombinedOutput()
	if err != nil && strings.Contains(err.Error(), "operation not permitted") {
		t.Skipf("cannot become another user: %v", err)
	}
	if err != nil || !strings.Contains(string(out), "--- PASS: TestReadOnlyFolder") {
		t.Errorf("as another user: %v\n%s", err, out)
	}
}
