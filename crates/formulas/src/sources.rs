//! The bibliography: each work once under a short name, by which the formulas cite it.

use crate::formula::{Source, Standing};

/// One work of the bibliography.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Work {
    /// What it is cited as: `Gordon 1970`.
    pub name: &'static str,
    /// Authors, title, publisher or journal, year.
    pub full: &'static str,
}

impl Source {
    /// Follows from a definition or a law by arithmetic alone.
    #[must_use]
    pub const fn exact(work: &'static str, place: &'static str) -> Self {
        Self { work, place, standing: Standing::Exact }
    }

    /// Seen in the published work or in a text that quotes it.
    #[must_use]
    pub const fn read(work: &'static str, place: &'static str) -> Self {
        Self { work, place, standing: Standing::Read }
    }

    /// Taken from a reference library.
    #[must_use]
    pub const fn library(work: &'static str, place: &'static str) -> Self {
        Self { work, place, standing: Standing::Library }
    }

    /// From memory, not yet confirmed in print.
    #[must_use]
    pub const fn memory(work: &'static str, place: &'static str) -> Self {
        Self { work, place, standing: Standing::Memory }
    }

    /// The full entry of the work.
    #[must_use]
    pub fn full(&self) -> Option<&'static str> {
        SOURCES.iter().find(|work| work.name == self.work).map(|work| work.full)
    }
}

pub(crate) const ASME_B36_10: &str = "ASME B36.10M";
pub(crate) const ASTM_B258: &str = "ASTM B258";
pub(crate) const BERNOULLI: &str = "Energy equation";
pub(crate) const CENGEL: &str = "Cengel & Cimbala 2010";
pub(crate) const CHURCHILL: &str = "Churchill 1977";
pub(crate) const COLEBROOK: &str = "Colebrook 1939";
pub(crate) const CRANE: &str = "Crane TP-410";
pub(crate) const DAUGHERTY: &str = "Daugherty & Franzini 1985";
pub(crate) const DEFINITION: &str = "Definition";
pub(crate) const DESIGN_OF_SMALL_DAMS: &str = "USBR Design of Small Dams";
pub(crate) const DE_SIERVO_1976: &str = "de Siervo & de Leva 1976";
pub(crate) const DE_SIERVO_1977: &str = "de Siervo & de Leva 1977";
pub(crate) const DIXON: &str = "Dixon 2005";
pub(crate) const EPA_SWMM: &str = "US EPA SWMM II";
pub(crate) const FISHER: &str = "Fisher 1930";
pub(crate) const FRANCIS: &str = "Francis 1855";
pub(crate) const GORDON: &str = "Gordon 1970";
pub(crate) const GORLA: &str = "Gorla & Khan 2003";
pub(crate) const HAALAND: &str = "Haaland 1983";
pub(crate) const HI_9_8: &str = "ANSI/HI 9.8";
pub(crate) const HR_WALLINGFORD: &str = "HR Wallingford 2005";
pub(crate) const IEC_60028: &str = "IEC 60028";
pub(crate) const IEC_60228: &str = "IEC 60228";
pub(crate) const IEC_60364: &str = "IEC 60364";
pub(crate) const IAPWS_95: &str = "IAPWS R6-95";
pub(crate) const IF97: &str = "IAPWS R7-97";
pub(crate) const ISO_1438: &str = "ISO 1438";
pub(crate) const ISO_2533: &str = "ISO 2533";
pub(crate) const ISO_3846: &str = "ISO 3846";
pub(crate) const ISO_748: &str = "ISO 748";
pub(crate) const ISO_9555: &str = "ISO 9555";
pub(crate) const KALINSKE_ROBERTSON: &str = "Kalinske & Robertson 1943";
pub(crate) const KHAN: &str = "Khan 2009";
pub(crate) const KINDSVATER_CARTER: &str = "Kindsvater & Carter 1957";
pub(crate) const KIRSCHMER: &str = "Kirschmer 1926";
pub(crate) const MANNING: &str = "Manning 1891";
pub(crate) const MASSEY: &str = "Massey & Ward-Smith 2006";
pub(crate) const MEHTA: &str = "Mehta & Mehta 2005";
pub(crate) const NMFS_SCREENS: &str = "NMFS 1996";
pub(crate) const PANNEERSELVAM: &str = "Panneerselvam 2010";
pub(crate) const REHBOCK: &str = "Rehbock 1929";
pub(crate) const SARKAR: &str = "Sarkar 1999";
pub(crate) const SHEN: &str = "Shen 1981";
pub(crate) const SI_BROCHURE: &str = "SI Brochure";
pub(crate) const SR6: &str = "IAPWS SR6-08";
pub(crate) const SUBRAMANYA: &str = "Subramanya 2005";
pub(crate) const SWAMEE_JAIN: &str = "Swamee & Jain 1976";
pub(crate) const TIMOSHENKO: &str = "Timoshenko & Gere 1961";
pub(crate) const VACUUM: &str = "Pump-down equation";
pub(crate) const VILLEMONTE: &str = "Villemonte 1947";
pub(crate) const WATER_MEASUREMENT: &str = "USBR Water Measurement Manual";
pub(crate) const WILLIAMS_HAZEN: &str = "Williams & Hazen 1905";
pub(crate) const WISNER: &str = "Wisner, Mohsen & Kouwen 1975";
pub(crate) const WYLIE: &str = "Wylie & Streeter 1993";
pub(crate) const AREA_RATIO: &str = "Area ratio method";
pub(crate) const NAG: &str = "Nag 2001";
pub(crate) const WEIBULL: &str = "Weibull 1939";
pub(crate) const GUM: &str = "JCGM 100";
pub(crate) const JCGM_101: &str = "JCGM 101";
pub(crate) const WGS_84: &str = "WGS 84";
pub(crate) const ESHA: &str = "ESHA guide";
pub(crate) const BIMBHRA: &str = "Bimbhra 2012";
pub(crate) const MOHAN: &str = "Mohan, Undeland & Robbins 2003";
pub(crate) const CHOW: &str = "Chow, Maidment & Mays 1988";
pub(crate) const COMMON_PRACTICE: &str = "Common practice";
pub(crate) const CUNNANE: &str = "Cunnane 1978";
pub(crate) const IEEE_762: &str = "IEEE 762";
pub(crate) const ISO_18320: &str = "ISO 18320";
pub(crate) const RIGGS: &str = "Riggs 1972";
pub(crate) const WMO_STREAMS: &str = "WMO-No. 1044";
pub(crate) const AWWA_M11: &str = "AWWA M11";
pub(crate) const ASTM_F1216: &str = "ASTM F1216";
pub(crate) const BEAMS: &str = "Beam theory";
pub(crate) const EN_50530: &str = "EN 50530";
pub(crate) const GORDON_WHITMAN: &str = "Gordon & Whitman 1985";
pub(crate) const IEC_60034: &str = "IEC 60034";
pub(crate) const ISO_9613: &str = "ISO 9613-2";
pub(crate) const KHURMI: &str = "Khurmi & Gupta 2005";
pub(crate) const PFAFFLIN: &str = "Pfafflin & Ziegler";
pub(crate) const PLASTIC_PIPE: &str = "Plastic pipe data";
pub(crate) const ROTATION: &str = "Law of rotation";
pub(crate) const SPEED_RISE: &str = "Speed rise equation";
pub(crate) const THERAJA: &str = "Theraja & Theraja";

/// Every work that a formula cites, in alphabetical order.
pub static SOURCES: &[Work] = &[
    Work { name: HI_9_8, full: "Hydraulic Institute, Rotodynamic Pumps for Pump Intake Design" },
    Work {
        name: ASME_B36_10,
        full: "ASME B36.10M: Welded and Seamless Wrought Steel Pipe, The American Society of \
               Mechanical Engineers",
    },
    Work {
        name: ASTM_B258,
        full: "ASTM B258: Standard Specification for Standard Nominal Diameters and \
               Cross-Sectional Areas of AWG Sizes of Solid Round Wires Used as \
               Electrical Conductors",
    },
    Work {
        name: CENGEL,
        full: "Y. A. Cengel and J. M. Cimbala, Fluid Mechanics: Fundamentals and \
               Applications, 2nd ed., McGraw-Hill, 2010",
    },
    Work {
        name: CHURCHILL,
        full: "S. W. Churchill, Friction-factor equation spans all fluid-flow \
               regimes, Chemical Engineering 84(24), 1977",
    },
    Work {
        name: COLEBROOK,
        full: "C. F. Colebrook, Turbulent flow in pipes, Journal of the Institution \
               of Civil Engineers 11, 1939",
    },
    Work {
        name: CRANE,
        full: "Crane Co., Flow of Fluids through Valves, Fittings, and Pipe, \
               Technical Paper 410",
    },
    Work {
        name: DAUGHERTY,
        full: "R. L. Daugherty, J. B. Franzini and E. J. Finnemore, Fluid Mechanics \
               with Engineering Applications, 8th ed., McGraw-Hill, 1985",
    },
    Work {
        name: DE_SIERVO_1976,
        full: "F. de Siervo and F. de Leva, Modern trends in selecting and designing \
               Francis turbines, Water Power & Dam Construction, August 1976",
    },
    Work {
        name: DE_SIERVO_1977,
        full: "F. de Siervo and F. de Leva, Modern trends in selecting and designing \
               Kaplan turbines, Water Power & Dam Construction, December 1977 and \
               January 1978",
    },
    Work { name: DEFINITION, full: "A definition, or a law with arithmetic alone" },
    Work {
        name: DIXON,
        full: "S. L. Dixon, Fluid Mechanics, Thermodynamics of Turbomachinery, 5th ed., \
               Elsevier, 2005",
    },
    Work {
        name: BERNOULLI,
        full: "Energy equation of steady flow after Bernoulli; any hydraulics text",
    },
    Work { name: FISHER, full: "I. Fisher, The Theory of Interest, Macmillan, 1930" },
    Work {
        name: FRANCIS,
        full: "J. B. Francis, Lowell Hydraulic Experiments, Little, Brown and \
               Company, 1855",
    },
    Work { name: GORDON, full: "J. L. Gordon, Vortices at intakes, Water Power, April 1970" },
    Work {
        name: GORLA,
        full: "R. S. R. Gorla and A. A. Khan, Turbomachinery Design and Theory, Marcel \
               Dekker, 2003",
    },
    Work {
        name: HAALAND,
        full: "S. E. Haaland, Simple and explicit formulas for the friction factor in \
               turbulent pipe flow, Journal of Fluids Engineering 105, 1983",
    },
    Work {
        name: HR_WALLINGFORD,
        full: "HR Wallingford 2005: M. Escarameia, C. Dabrowski, C. Gahan and C. Lauchlan, Experimental \
               and numerical studies on movement of air in water pipelines, HR \
               Wallingford, 2005",
    },
    Work {
        name: IAPWS_95,
        full: "IAPWS R6-95: International Association for the Properties of Water and Steam, \
               Formulation 1995 for general and scientific use, revised 2018",
    },
    Work {
        name: IF97,
        full: "IAPWS R7-97: International Association for the Properties of Water and Steam, \
               Industrial Formulation 1997, revised 2007 and 2012",
    },
    Work {
        name: SR6,
        full: "IAPWS SR6-08: International Association for the Properties of Water and Steam, \
               Supplementary Release on Properties of Liquid Water at 0.1 MPa, 2008, \
               revised 2011",
    },
    Work { name: IEC_60028, full: "IEC 60028: International Standard of Resistance for Copper" },
    Work { name: IEC_60228, full: "IEC 60228: Conductors of insulated cables" },
    Work {
        name: IEC_60364,
        full: "IEC 60364: Low-voltage electrical installations; part 5-52, wiring systems",
    },
    Work {
        name: ISO_1438,
        full: "ISO 1438: Hydrometry: open channel flow measurement using thin-plate weirs",
    },
    Work {
        name: ISO_2533,
        full: "ISO 2533: Standard Atmosphere, 1975; the same as ICAO Doc 7488 in its lowest layer",
    },
    Work {
        name: ISO_3846,
        full: "ISO 3846: Hydrometry: open channel flow measurement using rectangular broad- \
               crested weirs",
    },
    Work {
        name: ISO_748,
        full: "ISO 748: Hydrometry: measurement of liquid flow in open channels using \
               velocity-area methods",
    },
    Work {
        name: ISO_9555,
        full: "ISO 9555: Measurement of liquid flow in open channels: tracer dilution methods",
    },
    Work {
        name: KALINSKE_ROBERTSON,
        full: "A. A. Kalinske and J. M. Robertson, Closed conduit flow, Transactions \
               ASCE 108, 1943",
    },
    Work {
        name: KHAN,
        full: "B. H. Khan, Non-Conventional Energy Resources, 2nd ed., Tata \
               McGraw-Hill, 2009",
    },
    Work {
        name: KINDSVATER_CARTER,
        full: "C. E. Kindsvater and R. W. Carter, Discharge characteristics of \
               rectangular thin-plate weirs, Journal of the Hydraulics Division ASCE \
               83, 1957",
    },
    Work {
        name: KIRSCHMER,
        full: "O. Kirschmer, Untersuchungen über den Gefällsverlust an Rechen, \
               Mitteilungen des Hydraulischen Instituts der TH München 1, 1926",
    },
    Work {
        name: MANNING,
        full: "R. Manning, On the flow of water in open channels and pipes, \
               Transactions of the Institution of Civil Engineers of Ireland 20, 1891",
    },
    Work {
        name: MASSEY,
        full: "B. S. Massey and J. Ward-Smith, Mechanics of Fluids, 8th ed., Taylor & \
               Francis, 2006",
    },
    Work {
        name: MEHTA,
        full: "V. K. Mehta and R. Mehta, Principles of Power System, 4th ed., S. Chand, \
               2005",
    },
    Work {
        name: NMFS_SCREENS,
        full: "NMFS 1996: US National Marine Fisheries Service, Juvenile Fish Screen Criteria \
               for Pump Intakes, 1996",
    },
    Work { name: PANNEERSELVAM, full: "R. Panneerselvam, Engineering Economics, PHI, 2010" },
    Work {
        name: VACUUM,
        full: "Isothermal ideal gas and a pump of constant volume flow; any text on \
               vacuum engineering",
    },
    Work {
        name: REHBOCK,
        full: "T. Rehbock, Discussion of Precise weir measurements, Transactions ASCE \
               93, 1929",
    },
    Work {
        name: SARKAR,
        full: "B. K. Sarkar, Fluid Mechanics and Hydraulic Machines, Allied, 1999",
    },
    Work {
        name: SHEN,
        full: "J. Shen, Discharge characteristics of triangular-notch thin-plate \
               weirs, USGS Water-Supply Paper 1617-B, 1981",
    },
    Work {
        name: SI_BROCHURE,
        full: "Bureau International des Poids et Mesures, The International System of \
               Units; standard gravity: 3rd CGPM, 1901",
    },
    Work {
        name: SUBRAMANYA,
        full: "K. Subramanya, 1000 Solved Problems in Fluid Mechanics, Tata McGraw- \
               Hill, 2005",
    },
    Work {
        name: SWAMEE_JAIN,
        full: "P. K. Swamee and A. K. Jain, Explicit equations for pipe-flow \
               problems, Journal of the Hydraulics Division ASCE 102, 1976",
    },
    Work {
        name: TIMOSHENKO,
        full: "S. P. Timoshenko and J. M. Gere, Theory of Elastic Stability, 2nd ed., \
               McGraw-Hill, 1961",
    },
    Work {
        name: EPA_SWMM,
        full: "US Environmental Protection Agency, Storm Water Management Model \
               Reference Manual, volume II, Hydraulics",
    },
    Work { name: DESIGN_OF_SMALL_DAMS, full: "US Bureau of Reclamation, Design of Small Dams" },
    Work {
        name: WATER_MEASUREMENT,
        full: "US Bureau of Reclamation, Water Measurement Manual, 3rd ed.",
    },
    Work {
        name: VILLEMONTE,
        full: "J. R. Villemonte, Submerged-weir discharge studies, Engineering News- \
               Record 139, 1947",
    },
    Work {
        name: WILLIAMS_HAZEN,
        full: "G. S. Williams and A. Hazen, Hydraulic Tables, Wiley, 1905; SI form",
    },
    Work {
        name: WISNER,
        full: "P. E. Wisner, F. N. Mohsen and N. Kouwen, Removal of air from water \
               lines by hydraulic means, Journal of the Hydraulics Division ASCE \
               101(HY2), 1975",
    },
    Work {
        name: WYLIE,
        full: "E. B. Wylie and V. L. Streeter, Fluid Transients in Systems, Prentice \
               Hall, 1993",
    },
    Work {
        name: AREA_RATIO,
        full: "Transfer of flows between catchments in the ratio of their areas; any \
               hydrology text",
    },
    Work { name: NAG, full: "P. K. Nag, Power Plant Engineering, 2nd ed., Tata McGraw-Hill, 2001" },
    Work {
        name: WEIBULL,
        full: "W. Weibull, A statistical theory of the strength of materials, \
               Ingeniörsvetenskapsakademiens Handlingar 151, 1939: plotting position \
               m/(n + 1)",
    },
    Work {
        name: GUM,
        full: "JCGM 100:2008, Evaluation of measurement data: guide to the expression \
               of uncertainty in measurement",
    },
    Work {
        name: JCGM_101,
        full: "JCGM 101:2008, Evaluation of measurement data: propagation of distributions \
               using a Monte Carlo method",
    },
    Work {
        name: WGS_84,
        full: "WGS 84: National Imagery and Mapping Agency, Department of Defense World Geodetic System \
               1984, TR8350.2, 3rd ed., 2000",
    },
    Work {
        name: ESHA,
        full: "European Small Hydropower Association, Guide on How to Develop a Small \
               Hydropower Plant, 2004",
    },
    Work { name: BIMBHRA, full: "P. S. Bimbhra, Power Electronics, Khanna Publishers, 2012" },
    Work {
        name: MOHAN,
        full: "N. Mohan, T. M. Undeland and W. P. Robbins, Power Electronics: \
               Converters, Applications, and Design, 3rd ed., Wiley, 2003",
    },
    Work {
        name: "Gorla & Khan 2003",
        full: "R. S. R. Gorla and A. A. Khan, Turbomachinery: Design and Theory, \
               Marcel Dekker, 2003",
    },
    Work {
        name: CHOW,
        full: "V. T. Chow, D. R. Maidment and L. W. Mays, Applied Hydrology, McGraw- \
               Hill, 1988",
    },
    Work { name: COMMON_PRACTICE, full: "A simple picture in common use; no source" },
    Work {
        name: CUNNANE,
        full: "C. Cunnane, Unbiased plotting positions: a review, Journal of \
               Hydrology 37, 1978",
    },
    Work {
        name: IEEE_762,
        full: "IEEE 762: IEEE Standard Definitions for Use in Reporting Electric Generating \
               Unit Reliability, Availability, and Productivity",
    },
    Work {
        name: ISO_18320,
        full: "ISO 18320: Hydrometry: measurement of liquid flow in open channels: determination \
               of the stage-discharge relationship",
    },
    Work {
        name: RIGGS,
        full: "H. C. Riggs, Low-flow investigations, USGS Techniques of Water- \
               Resources Investigations, book 4, chapter B1, 1972",
    },
    Work {
        name: WMO_STREAMS,
        full: "World Meteorological Organization, Manual on Stream Gauging, 2010",
    },
    Work {
        name: AWWA_M11,
        full: "AWWA M11: American Water Works Association, Manual M11, Steel Pipe: A Guide for Design and Installation",
    },
    Work {
        name: ASTM_F1216,
        full: "ASTM F1216: Standard Practice for Rehabilitation of Existing Pipelines and Conduits by the Inversion and Curing of a Resin-Impregnated Tube",
    },
    Work {
        name: BEAMS,
        full: "Bending of beams after Bernoulli, Euler and Navier, as tabulated in Roark's Formulas for Stress and Strain",
    },
    Work {
        name: EN_50530,
        full: "EN 50530: Overall efficiency of grid connected photovoltaic inverters, CENELEC, 2010",
    },
    Work {
        name: GORDON_WHITMAN,
        full: "J. L. Gordon and D. H. Whitman, Generator inertia for isolated hydropower systems, Canadian Journal of Civil Engineering 12, 1985",
    },
    Work {
        name: IEC_60034,
        full: "IEC 60034: Rotating electrical machines, International Electrotechnical Commission",
    },
    Work {
        name: ISO_9613,
        full: "ISO 9613-2: Acoustics: Attenuation of sound during propagation outdoors, part 2, general method of calculation, 1996",
    },
    Work { name: KHURMI, full: "R. S. Khurmi and J. K. Gupta, Theory of Machines, S. Chand, 2005" },
    Work {
        name: PFAFFLIN,
        full: "J. R. Pfafflin and E. N. Ziegler (eds.), Encyclopedia of Environmental Science and Engineering, article Noise",
    },
    Work {
        name: PLASTIC_PIPE,
        full: "Typical values of handbooks on plastic and steel pipe (Plastics Pipe Institute, AWWA M11, M23)",
    },
    Work { name: ROTATION, full: "J dω/dt = T, the law of motion of a rotating body" },
    Work {
        name: SPEED_RISE,
        full: "Speed rise of a hydraulic turbine after a load reduction, as engineering handbooks have it",
    },
    Work {
        name: THERAJA,
        full: "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III, S. Chand",
    },
];
