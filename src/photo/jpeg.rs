//! Whether a JPEG file is all there. Source: ITU-T T.81 (JPEG), annex B.

/// Whether the picture's end marker stands where it must: after the scans, not inside a thumbnail.
pub(super) fn is_complete(bytes: &[u8]) -> bool {
    let mut at = 2; // after the start-of-image marker
    loop {
        // To the next marker; inside a scan this skips the coded data.
        let Some(found) = bytes.get(at..).and_then(next_marker) else {
            return false;
        };
        let (offset, marker) = found;
        at += offset;
        match marker {
            0xD9 => return true,
            // Restart markers and TEM stand alone.
            0x01 | 0xD0..=0xD8 => {}
            _ => match bytes.get(at..at + 2) {
                Some(&[hi, lo]) => at += usize::from(u16::from_be_bytes([hi, lo])).max(2),
                _ => return false,
            },
        }
    }
}

/// The first marker in `bytes`, and the offset after it.
fn next_marker(bytes: &[u8]) -> Option<(usize, u8)> {
    bytes
        .windows(2)
        .position(|pair| pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xFF))
        .map(|at| (at + 2, bytes[at + 1]))
}
