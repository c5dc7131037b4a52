//! Packs files into a reproducible archive, without traces of the machine or the time.

use std::io::{self, Cursor, Write};

use flate2::{Compression, GzBuilder};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

const READ: u32 = 0o644;
const RUN: u32 = 0o755;

/// A file of the archive.
pub struct File {
    /// Path below the archive's top folder, with `/`.
    pub path: String,
    pub bytes: Vec<u8>,
    /// Whether it is executable.
    pub is_program: bool,
}

impl File {
    /// A file that is not executable.
    pub fn text(path: &str, bytes: Vec<u8>) -> Self {
        Self {
            path: path.to_owned(),
            bytes,
            is_program: false,
        }
    }

    fn mode(&self) -> u32 {
        if self.is_program { RUN } else { READ }
    }
}

/// Archive formats that systems open without further programs.
#[derive(Clone, Copy)]
pub enum Format {
    TarGz,
    /// Zip, for Windows.
    Zip,
}

impl Format {
    pub fn of_target(target: &str) -> Self {
        if target.contains("windows") {
            Self::Zip
        } else {
            Self::TarGz
        }
    }

    /// File extension of the archive.
    pub fn extension(self) -> &'static str {
        match self {
            Self::TarGz => "tar.gz",
            Self::Zip => "zip",
        }
    }

    /// Packs files into a folder `name`, all with one time stamp, in seconds since 1970.
    pub fn pack(self, name: &str, files: &[File], time: u64) -> io::Result<Vec<u8>> {
        match self {
            Self::TarGz => tar_gz(name, files, time),
            Self::Zip => zip(name, files, time),
        }
    }
}

fn tar_gz(name: &str, files: &[File], time: u64) -> io::Result<Vec<u8>> {
    // The gzip header contains no file name, time or system.
    let packed = GzBuilder::new()
        .mtime(0)
        .operating_system(255)
        .write(Vec::new(), Compression::default());
    let mut archive = tar::Builder::new(packed);
    for file in files {
        let mut header = tar::Header::new_gnu();
        header.set_size(file.bytes.len() as u64);
        header.set_mode(file.mode());
        header.set_mtime(time);
        header.set_uid(0);
        header.set_gid(0);
        archive.append_data(&mut header, format!("{name}/{}", file.path), file.bytes.as_slice())?;
    }
    archive.into_inner()?.finish()
}

fn zip(name: &str, files: &[File], time: u64) -> io::Result<Vec<u8>> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(date_and_time(time).unwrap_or(DateTime::DEFAULT));
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for file in files {
        archive.start_file(format!("{name}/{}", file.path), options.unix_permissions(file.mode()))?;
        archive.write_all(&file.bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}

/// Converts a time to the zip format, which has no time zone; UTC is used. `None` before 1980, where the format begins.
fn date_and_time(seconds: u64) -> Option<DateTime> {
    let moment = Timestamp::from_second(seconds.try_into().ok()?).ok()?;
    let moment = moment.to_zoned(TimeZone::UTC);
    let part = |value: i8| u8::try_from(value).ok();
    DateTime::from_date_and_time(
        moment.year().try_into().ok()?,
        part(moment.month())?,
        part(moment.day())?,
        part(moment.hour())?,
        part(moment.minute())?,
        part(moment.second())?,
    )
    .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_written_as_that_of_utc() {
        // RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z. The format has a resolution of two
        // seconds.
        let moment = date_and_time(851_042_397).map(|time| time.to_string());
        assert_eq!(moment.as_deref(), Some("1996-12-20 00:39:56"));
        assert!(date_and_time(0).is_none());
    }
}
