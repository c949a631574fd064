package store

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// A branch whose key begins a byte late still ascends, and leads to the leaf
// beside the right one: no pack seemed to be there.
func TestAstray(t *testing.T) {
	t.Parallel()
	path, whole, truth, later := wholeSample(t)
	flipped := filepath.Join(memoryDir(t), "flipped")
	n, told := 0, 0
	for _, p := range livePages(t, path) {
		page := whole[p*4096 : (p+1)*4096]
		if native.Uint16(page[8:]) != branchFlag {
			continue
		}
		for i := range int(native.Uint16(page[10:])) {
			b := bytes.Clone(whole)
			at := p*4096 + pageHeader + i*16 // the low byte of where the key is
			b[at] ^= 1
			if err := os.WriteFile(flipped, b, 0o600); err != nil {
				t.Fatal(err)
			}
			n++
			if probe(t, fmt.Sprintf("key %d of branch %d", i, p), flipped, truth, later) {
				told++
			}
		}
	}
	if n < 20 || told < n/2 {
		t.Errorf("%d of %d told of", told, n)
	}
}

// branchBytes lists where the branches among the pages hold their elements and
// keys.
func branchBytes(whole []byte, live []int) []int {
	var list []int
	for _, p := range live {
		page := whole[p*4096 : (p+1)*4096]
		if native.Uint16(page[8:]) != branchFlag {
			continue
		}
		n := int(native.Uint16(page[10:]))
		for i := range n {
			at := pageHeader + i*16
			for j := range 16 {
				list = append(list, p*4096+at+j)
			}
			from := at + int(native.Uint32(page[at:]))
			for j := range int(native.Uint32(page[at+4:])) {
				list = append(list, p*4096+from+j)
			}
		}
	}
	return list
}
