package faultdisk

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"testing"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

// Kind says what was done to the disk.
type Kind string

// The kinds.
const (
	Write    Kind = "write"
	Truncate Kind = "truncate"
	Sync     Kind = "sync"
	Create   Kind = "create"
	Link     Kind = "link"
	Rename   Kind = "rename"
	Unlink   Kind = "unlink"
	Mkdir    Kind = "mkdir"
	Rmdir    Kind = "rmdir"
	SyncDir  Kind = "syncdir"
	Read     Kind = "read" // can fail, and is not noted
)

// Op is one thing that was done to the disk.
type Op struct {
	Kind     Kind
	File     uint64 // of what touches a file
	Name, To string // within the disk, of what touches a folder
	At       int64  // where it was written, or the new size
	Data     []byte
}

// Disk is a mounted folder.
type Disk struct {
	Path string // where programs see it

	mu    sync.Mutex
	ops   []Op
	first map[string]uint64 // names at the beginning
	start map[uint64][]byte // contents at the beginning
	fail  func(Op) syscall.Errno
}

// Mount mounts a disk for one test, which is skipped where that is not
// possible. Do not map its files in the process of the test itself: the page
// fault would wait for this process.
func Mount(t testing.TB) *Disk {
	t.Helper()
	if _, err := os.Stat("/dev/fuse"); err != nil {
		t.Skip("no /dev/fuse: a disk that fails cannot be simulated here")
	}
	d := &Disk{Path: t.TempDir()}
	behind := t.TempDir()
	if dir, err := os.MkdirTemp("/dev/shm", "packwane-test-*"); err == nil {
		behind = dir
		t.Cleanup(func() { os.RemoveAll(dir) })
	}
	var st syscall.Stat_t
	if err := syscall.Stat(behind, &st); err != nil {
		t.Fatal(err)
	}
	root := &fs.LoopbackRoot{Path: behind, Dev: uint64(st.Dev)}
	top := &node{LoopbackNode: fs.LoopbackNode{RootData: root}, disk: d}
	root.RootNode = top
	server, err := fs.Mount(d.Path, top, &fs.Options{MountOptions: fuse.MountOptions{DirectMountStrict: true, FsName: "packwane-test"}})
	if err != nil {
		t.Skipf("cannot mount a disk that fails: %v", err)
	}
	t.Cleanup(func() {
		if err := server.Unmount(); err != nil {
			syscall.Unmount(d.Path, syscall.MNT_DETACH)
		}
	})
	return d
}

// Begin forgets what was done so far: what the disk holds now is taken as safe.
func (d *Disk) Begin(t testing.TB) {
	t.Helper()
	d.mu.Lock()
	d.ops, d.first, d.start = nil, map[string]uint64{}, map[uint64][]byte{}
	d.mu.Unlock()
	entries, err := os.ReadDir(d.Path)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		path := filepath.Join(d.Path, e.Name())
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		ino := info.Sys().(*syscall.Stat_t).Ino
		d.mu.Lock()
		d.first[e.Name()], d.start[ino] = ino, b
		d.mu.Unlock()
	}
}

// Ops returns what was done since Begin.
func (d *Disk) Ops() []Op {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.ops[:len(d.ops):len(d.ops)]
}

// Fail lets fail decide, before each thing that is to be done, with which
// error it fails, 0 for none. A nil fail ends it.
func (d *Disk) Fail(fail func(Op) syscall.Errno) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fail = fail
}

// refuses says with which error an op is to fail.
func (d *Disk) refuses(op Op) syscall.Errno {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.fail == nil {
		return 0
	}
	return d.fail(op)
}

// do carries out an op unless it is to fail, and notes it.
func (d *Disk) do(op Op, carryOut func() syscall.Errno) syscall.Errno {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.fail != nil {
		if e := d.fail(op); e != 0 {
			return e
		}
	}
	if e := carryOut(); e != 0 {
		return e
	}
	d.ops = append(d.ops, op)
	return 0
}

// node is a file or folder of the disk.
type node struct {
	fs.LoopbackNode
	disk *Disk
}

// WrapChild makes every file and folder below a node of this disk.
func (n *node) WrapChild(context.Context, fs.InodeEmbedder) fs.InodeEmbedder {
	return &node{LoopbackNode: fs.LoopbackNode{RootData: n.RootData}, disk: n.disk}
}

func (n *node) name(child string) string { return filepath.Join(n.Path(n.Root()), child) }

func (n *node) ino() uint64 { return n.StableAttr().Ino }

func (n *node) Create(ctx context.Context, name string, flags, mode uint32, out *fuse.EntryOut) (inode *fs.Inode, fh fs.FileHandle, fuseFlags uint32, e syscall.Errno) {
	op := Op{Kind: Create, Name: n.name(name)}
	n.disk.mu.Lock()
	defer n.disk.mu.Unlock()
	if n.disk.fail != nil {
		if e := n.disk.fail(op); e != 0 {
			return nil, nil, 0, e
		}
	}
	inode, fh, fuseFlags, e = n.LoopbackNode.Create(ctx, name, flags, mode, out)
	if e != 0 {
		return nil, nil, 0, e
	}
	op.File = inode.StableAttr().Ino
	n.disk.ops = append(n.disk.ops, op)
	return inode, &file{fh.(*fs.LoopbackFile), n.disk, op.File}, fuseFlags, 0
}

func (n *node) Open(ctx context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	fh, fuseFlags, e := n.LoopbackNode.Open(ctx, flags)
	if e != 0 {
		return nil, 0, e
	}
	return &file{fh.(*fs.LoopbackFile), n.disk, n.ino()}, fuseFlags, 0
}

func (n *node) Setattr(ctx context.Context, fh fs.FileHandle, in *fuse.SetAttrIn, out *fuse.AttrOut) syscall.Errno {
	if f, ok := fh.(*file); ok {
		fh = f.file
	}
	set := func() syscall.Errno { return n.LoopbackNode.Setattr(ctx, fh, in, out) }
	if size, ok := in.GetSize(); ok {
		return n.disk.do(Op{Kind: Truncate, File: n.ino(), At: int64(size)}, set)
	}
	return set()
}

func (n *node) Link(ctx context.Context, target fs.InodeEmbedder, name string, out *fuse.EntryOut) (inode *fs.Inode, e syscall.Errno) {
	op := Op{Kind: Link, File: target.EmbeddedInode().StableAttr().Ino, Name: n.name(name)}
	e = n.disk.do(op, func() (e syscall.Errno) {
		inode, e = n.LoopbackNode.Link(ctx, target, name, out)
		return e
	})
	return inode, e
}

func (n *node) Rename(ctx context.Context, name string, parent fs.InodeEmbedder, to string, flags uint32) syscall.Errno {
	return n.disk.do(Op{Kind: Rename, Name: n.name(name), To: parent.(*node).name(to)}, func() syscall.Errno {
		return n.LoopbackNode.Rename(ctx, name, parent, to, flags)
	})
}

func (n *node) Unlink(ctx context.Context, name string) syscall.Errno {
	return n.disk.do(Op{Kind: Unlink, Name: n.name(name)}, func() syscall.Errno { return n.LoopbackNode.Unlink(ctx, name) })
}

func (n *node) Mkdir(ctx context.Context, name string, mode uint32, out *fuse.EntryOut) (inode *fs.Inode, e syscall.Errno) {
	e = n.disk.do(Op{Kind: Mkdir, Name: n.name(name)}, func() (e syscall.Errno) {
		inode, e = n.LoopbackNode.Mkdir(ctx, name, mode, out)
		return e
	})
	return inode, e
}

func (n *node) Rmdir(ctx context.Context, name string) syscall.Errno {
	return n.disk.do(Op{Kind: Rmdir, Name: n.name(name)}, func() syscall.Errno { return n.LoopbackNode.Rmdir(ctx, name) })
}

func (n *node) Fsync(context.Context, fs.FileHandle, uint32) syscall.Errno {
	return n.disk.do(Op{Kind: Sync, File: n.ino()}, func() syscall.Errno { return 0 })
}

// CopyFileRange is not there: programs read and write instead, which is seen.
func (n *node) CopyFileRange(context.Context, fs.FileHandle, uint64, *fs.Inode, fs.FileHandle, uint64, uint64, uint64) (uint32, syscall.Errno) {
	return 0, syscall.ENOSYS
}

// file is an open file of the disk.
type file struct {
	file *fs.LoopbackFile
	disk *Disk
	ino  uint64
}

func (f *file) Read(ctx context.Context, b []byte, at int64) (fuse.ReadResult, syscall.Errno) {
	if e := f.disk.refuses(Op{Kind: Read, File: f.ino, At: at}); e != 0 {
		return nil, e
	}
	r, e := f.file.Read(ctx, b, at)
	if e != 0 {
		return nil, e
	}
	defer r.Done()
	got, status := r.Bytes(b) // copied: moving it through a pipe may wait for ever
	return fuse.ReadResultData(got), syscall.Errno(status)
}

func (f *file) Write(ctx context.Context, b []byte, at int64) (n uint32, e syscall.Errno) {
	e = f.disk.do(Op{Kind: Write, File: f.ino, At: at, Data: bytes.Clone(b)}, func() (e syscall.Errno) {
		n, e = f.file.Write(ctx, b, at)
		return e
	})
	return n, e
}

func (f *file) Getattr(ctx context.Context, out *fuse.AttrOut) syscall.Errno {
	return f.file.Getattr(ctx, out)
}

func (f *file) Flush(ctx context.Context) syscall.Errno   { return f.file.Flush(ctx) }
func (f *file) Release(ctx context.Context) syscall.Errno { return f.file.Release(ctx) }

func (n *node) OpendirHandle(ctx context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	stream, e := fs.NewLoopbackDirStream(n.RootData.Path + "/" + n.name(""))
	if e != 0 {
		return nil, 0, e
	}
	return &folder{stream, n.disk, n.name("")}, 0, 0
}

// folder is an open folder of the disk.
type folder struct {
	fs.DirStream
	disk *Disk
	name string
}

func (f *folder) Readdirent(context.Context) (*fuse.DirEntry, syscall.Errno) {
	if !f.HasNext() {
		return nil, 0
	}
	entry, e := f.Next()
	return &entry, e
}

func (f *folder) Releasedir(context.Context, uint32) { f.Close() }

func (f *folder) Fsyncdir(context.Context, uint32) syscall.Errno {
	return f.disk.do(Op{Kind: SyncDir, Name: f.name}, func() syscall.Errno { return 0 })
}
