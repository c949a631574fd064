package gpx

import (
	"bytes"
	"strings"
)

// element is what a tag means where it stands.
type element uint8

const (
	elOther element = iota
	elGpx
	elTrack
	elSegment
	elPoint
	elRoute
	elRoutePoint
	elEle
	elTime
	elSpeed
	elExtensions
)

// kinship says which tags mean something inside which, by local name. Whatever
// is not listed is passed over with all that it holds.
var kinship = map[element]map[string]element{
	elGpx:        {"trk": elTrack, "rte": elRoute},
	elTrack:      {"trkseg": elSegment},
	elSegment:    {"trkpt": elPoint},
	elRoute:      {"rtept": elRoutePoint},
	elPoint:      pointFields,
	elRoutePoint: pointFields,
}

// speed stands in the point itself in GPX 1.0, in its extensions since.
var pointFields = map[string]element{"ele": elEle, "time": elTime, "speed": elSpeed, "extensions": elExtensions}

// open is an element that has begun and not yet ended.
type open struct {
	name  string // as written, with its prefix
	local int    // where the local part begins
	is    element
}

// prefix returns the prefix with its colon, or "".
func (o *open) prefix() string { return o.name[:o.local] }

// localAt returns where the local part of a name begins. As encoding/xml has it,
// a colon at either end is part of the name.
func localAt(name []byte) int {
	if i := bytes.IndexByte(name, ':'); i > 0 && i < len(name)-1 {
		return i + 1
	}
	return 0
}

// childOf says what the tag name means inside parent. A prefix other than the
// parent's is another vocabulary's, except inside extensions.
func childOf(parent *open, name []byte) element {
	local := localAt(name)
	if parent.is == elExtensions {
		if strings.EqualFold(string(name[local:]), "speed") {
			return elSpeed
		}
		return elExtensions
	}
	if string(name[:local]) != parent.prefix() {
		return elOther
	}
	return kinship[parent.is][string(name[local:])]
}
