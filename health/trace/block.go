package trace

import (
	"bytes"
	"io"
)

// blockBytes is how much of a file is parsed at a time. Larger blocks fall out
// of the processor's cache, smaller ones cost more in passing them on.
const blockBytes = 256 << 10

// maxLine is the longest line that is read, in bytes; lineLimit says so.
const (
	maxLine   = 128 << 10
	lineLimit = "128 KiB"
)

// block is whole lines of a file. Where the blocks of a file are cut depends on
// its bytes alone.
type block struct {
	text  []byte // ends with a line feed
	first int64  // line of the file with which it begins, from 1
	lines int64
	cut   bool // the last line had no line end: the file may be cut there
	bytes int64
	buf   []byte
}

// blocks cuts a reader into blocks of whole lines.
type blocks struct {
	r    io.Reader
	rest []byte // the beginning of a line that the last block ended in
	line int64
	done bool
}

// next reads a block into buf, which has room for blockBytes + maxLine + 1. It
// returns io.EOF behind the last one.
func (bs *blocks) next(buf []byte) (block, error) {
	if bs.done {
		return block{}, io.EOF
	}
	n := copy(buf, bs.rest)
	k, err := io.ReadFull(bs.r, buf[n:n+blockBytes])
	n += k
	switch err {
	case nil:
	case io.EOF, io.ErrUnexpectedEOF:
		bs.done = true
	default:
		return block{}, err
	}
	b := block{first: bs.line, buf: buf}
	end := bytes.LastIndexByte(buf[:n], '\n') + 1
	if bs.done && end < n {
		buf[n] = '\n'
		n++
		end, b.cut = n, true
	}
	if bs.done && end == 0 {
		return block{}, io.EOF
	}
	if n-end > maxLine || end == 0 {
		at := bs.line + int64(bytes.Count(buf[:end], []byte("\n")))
		return block{}, &InputError{Row: at, Want: "a line longer than " + lineLimit + ": want a table with line ends"}
	}
	bs.rest = append(bs.rest[:0], buf[end:n]...)
	b.text = buf[:end]
	b.lines = int64(bytes.Count(b.text, []byte("\n")))
	b.bytes = int64(end)
	bs.line += b.lines
	return b, nil
}
