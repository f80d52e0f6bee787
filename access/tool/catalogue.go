package tool

import "stepscan/access/fastener"

// For lists the tools that undo a fastener, commonest first; of a combination
// the tools of every grip, those of the best one first; fingers where the head
// is made for them. It is empty for
// what no tool touches: a washer, an insert, a stud, a stand-off that has no
// stud to be turned out by its hexagon.
//
// Where the drive or its size is not modelled, the usual one of the thread is
// taken and the names of the tools say so.
func For(f *fastener.Fastener) []Tool {
	switch f.Kind {
	case fastener.Washer, fastener.Insert, fastener.Stud:
		return nil
	case fastener.StandOff:
		if f.Drive != fastener.OuterHex || f.HeadH == 0 {
			return nil
		}
	case fastener.Nut:
		if f.Head == "cage" || f.Head == "tee" { // held where it lies: only its screw is turned
			return nil
		}
	case fastener.Pin:
		return pinTools(f)
	case fastener.Rivet:
		return []Tool{drill(f)}
	case fastener.Ring:
		return []Tool{ringPliers(f)}
	case fastener.Clip:
		return clipTools(f)
	case fastener.CableTie:
		return []Tool{cutters(f)}
	}
	return driveTools(f)
}

// driveTools lists those of each grip, those of the best one first.
func driveTools(f *fastener.Fastener) []Tool {
	if byHand(f) {
		return []Tool{fingers(f)}
	}
	ways := f.Ways()
	if len(ways) == 0 {
		ways = []fastener.Grip{f.Best()}
	}
	var tools []Tool
	for _, w := range ways {
		tools = append(tools, gripTools(f, w)...)
	}
	if handHead(f.Head) {
		tools = append(tools, fingers(f))
	}
	return tools
}

// gripTools lists the tools for one grip of a fastener.
func gripTools(whole *fastener.Fastener, g fastener.Grip) []Tool {
	part := *whole
	f := &part
	f.Drive, f.DriveSize, f.RecessDepth = g.Drive, g.Size, g.Depth
	drive, size, note := f.Drive, f.DriveSize, ""
	if drive == fastener.UnknownDrive || drive == fastener.NoDrive || drive == "" {
		drive, size, note = usualDrive(f), "", " (assumed: drive not modelled)"
	} else if !known(drive, size) {
		size, note = "", " (assumed: size of drive not modelled)"
	}
	if size == "" {
		size = usualSize(f, drive)
	}
	tools := sized(f, drive, size)
	for i := range tools {
		tools[i].Name += note
		tools[i].Assumed = note != ""
	}
	return tools
}

// sized lists the tools for a drive of readable size.
func sized(f *fastener.Fastener, drive fastener.Drive, size string) []Tool {
	switch drive {
	case fastener.OuterHex, fastener.Square:
		return outerTools(f, drive, size)
	}
	tip := tipRadius(drive, size)
	tools := []Tool{bitDriver(drive, size, tip)}
	if b, ok := bladeFor(drive, size); ok {
		tools = append(tools, screwdriver(drive, size, tip, f.RecessDepth, b))
	}
	switch drive {
	case fastener.HexSocket:
		tools = append(tools, keys(size, f.RecessDepth)...)
	case fastener.PinHexalobular:
		tools = append(tools, lobeKeys(size, tip, f.RecessDepth)...)
	}
	return tools
}
