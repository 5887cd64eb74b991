package einvoice

import "strings"

// Code lists, as far as a garage needs them: a code outside them is refused
// even where the whole list has it, so that nothing goes out which was never
// thought of.
var (
	// UNTDID 4461, means of payment: undefined, cash, cheque, credit transfer,
	// to a bank account, bank card, credit card, debit card, standing agreement,
	// SEPA credit transfer.
	meansCodes = set("1 10 20 30 42 48 54 55 57 58")
	// Of those, the ones that need the account to pay into (BR-61).
	transferCodes = set("30 57 58")
	// UNTDID 5189, reasons of allowances: among them 95 discount, 100 special
	// rebate, 104 standard.
	allowanceCodes = set("41 42 60 62 63 64 65 66 67 68 70 71 88 95 100 102 103 104 105")
	// UNTDID 7161, reasons of charges: other services, packing, cleaning,
	// freight, miscellaneous.
	chargeCodes = set("ADR PC CG FC AA ABL")
	// UN/ECE Recommendation 20.
	unitCodes = set("C62 EA H87 HUR MIN SEC LTR MTR KGM SET PR DAY")
	// VATEX: not subject to VAT.
	reasonCodes = set("VATEX-EU-O")
	// Electronic Address Scheme of CEF.
	schemes = set("0002 0007 0009 0037 0060 0088 0096 0097 0106 0130 0135 0142 0151 0183 0184 0188 0190 0191 0192 0193 0195 0196 " +
		"0198 0199 0200 0201 0204 0208 0209 0210 0211 0212 0213 0215 0216 0218 0221 0230 9910 9913 9914 9915 9918 9919 9920 9922 " +
		"9923 9924 9925 9926 9927 9928 9929 9930 9931 9932 9933 9934 9935 9936 9937 9938 9939 9940 9941 9942 9943 9944 9945 9946 " +
		"9947 9948 9949 9950 9951 9952 9953 9957 9959 AN AQ AS AU EM")
	// ISO 3166-1 alpha-2.
	countries = set("AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV BW BY BZ CA CC CD " +
		"CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES ET FI FJ FK FM FO FR GA GB GD GE GF GG GH GI GL " +
		"GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY KZ LA LB LC " +
		"LI LK LR LS LT LU LV LY MA MC MD ME MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM " +
		"PA PE PF PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV SX SY SZ TC TD TF " +
		"TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS YE YT ZA ZM ZW")
	// A VAT number begins with its country; Greece uses EL, Northern Ireland XI.
	vatPrefixes = set("EL XI")
)

func set(words string) map[string]bool {
	m := map[string]bool{}
	for w := range strings.FieldsSeq(words) {
		m[w] = true
	}
	return m
}

// KnownScheme tells whether electronic addresses of a scheme are known (EAS).
func KnownScheme(scheme string) bool { return schemes[scheme] }
