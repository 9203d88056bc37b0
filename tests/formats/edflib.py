"""Reads an EDF+ or BDF+ file with EDFlib (Debian: libedf1) and prints what it found as JSON.

EDFlib refuses every file that breaks the format; then its error code is printed and the exit status is 1.
Structures: edflib.h of EDFlib 1.23.
"""

import ctypes
import json
import sys

LONG, INT, DOUBLE, CHAR = ctypes.c_longlong, ctypes.c_int, ctypes.c_double, ctypes.c_char
TICKS_PER_S = 10_000_000


class Signal(ctypes.Structure):
    _fields_ = [
        ("label", CHAR * 17),
        ("smp_in_file", LONG),
        ("phys_max", DOUBLE),
        ("phys_min", DOUBLE),
        ("dig_max", INT),
        ("dig_min", INT),
        ("smp_in_datarecord", INT),
        ("physdimension", CHAR * 9),
        ("prefilter", CHAR * 81),
        ("transducer", CHAR * 81),
    ]


class Annotation(ctypes.Structure):
    _fields_ = [("onset", LONG), ("duration_l", LONG), ("duration", CHAR * 16), ("annotation", CHAR * 513)]


class Header(ctypes.Structure):
    _fields_ = (
        [("handle", INT), ("filetype", INT), ("edfsignals", INT), ("file_duration", LONG)]
        + [(name, INT) for name in ("startdate_day", "startdate_month", "startdate_year")]
        + [("starttime_subsecond", LONG)]
        + [(name, INT) for name in ("starttime_second", "starttime_minute", "starttime_hour")]
        + [("patient", CHAR * 81), ("recording", CHAR * 81), ("patientcode", CHAR * 81)]
        + [("gender", CHAR * 16), ("birthdate", CHAR * 16)]
        + [(name, INT) for name in ("birthdate_day", "birthdate_month", "birthdate_year")]
        + [(name, CHAR * 81) for name in ("patient_name", "patient_additional", "admincode", "technician")]
        + [("equipment", CHAR * 81), ("recording_additional", CHAR * 81)]
        + [("datarecord_duration", LONG), ("datarecords_in_file", LONG), ("annotations_in_file", LONG)]
        + [("signalparam", Signal * 640)]
    )


def text(value):
    return value.decode("utf-8").rstrip()


def main(path, shown_samples):
    edf = ctypes.CDLL("libedf.so.1")
    header = Header()
    if edf.edfopen_file_readonly(path.encode(), ctypes.byref(header), 2) != 0:
        print(json.dumps({"error": header.filetype}))
        return 1
    signals = []
    for c in range(header.edfsignals):
        signal = header.signalparam[c]
        samples = (DOUBLE * shown_samples)()
        edf.edfread_physical_samples(header.handle, c, shown_samples, samples)
        signals.append(
            {
                "label": text(signal.label),
                "sampleCount": signal.smp_in_file,
                "dimension": text(signal.physdimension),
                "prefilter": text(signal.prefilter),
                "sampleRateHz": signal.smp_in_datarecord * TICKS_PER_S / header.datarecord_duration,
                "samplesUv": list(samples),
            }
        )
    annotations = []
    for n in range(header.annotations_in_file):
        annotation = Annotation()
        edf.edf_get_annotation(header.handle, n, ctypes.byref(annotation))
        duration_s = annotation.duration_l / TICKS_PER_S if annotation.duration_l >= 0 else None
        annotations.append([annotation.onset / TICKS_PER_S, duration_s, text(annotation.annotation)])
    print(
        json.dumps(
            {
                "fileType": header.filetype,
                "recordCount": header.datarecords_in_file,
                "equipment": text(header.equipment),
                "additional": text(header.recording_additional),
                "signals": signals,
                "annotations": annotations,
            }
        )
    )
    return 0


sys.exit(main(sys.argv[1], int(sys.argv[2])))
