// Package access is the judgement: it runs recognition, joints and reach over
// a meshed product and gathers what they found in one plain value, Report. It
// neither draws nor prints.
//
//	product ─► fastener ─► joint ─► reach ─► Report
package access
