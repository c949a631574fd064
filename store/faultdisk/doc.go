// Package faultdisk is a disk for tests: a folder that notes everything that is
// written to it and every sync, can fail at any of these and at reads, and can be put in
// the state in which a power cut at any moment might leave it. It is mounted
// through FUSE, so it needs Linux and the right to mount.
package faultdisk
