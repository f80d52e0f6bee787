// Package report writes an access.Report as text for people, as JSON for
// programs and as tables for spreadsheets. It adds no judgement: every word and
// number stands in the report.
package report
