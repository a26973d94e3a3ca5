//! The two networks: where their weights come from, and running them.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use rten::{Model, ModelOptions, RunOptions, ThreadPool};
use rten_tensor::{NdTensor, Tensor};
use sha2::{Digest, Sha256};

/// Where the weights of the detector and the recogniser come from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum ModelSource {
    /// Those compiled into the program.
    #[default]
    Embedded,
    /// A folder with `det.onnx`, `rec.onnx`, `alphabet.txt` and `SHA256SUMS`, as `scripts/models/build` makes it;
    /// `second.onnx` too where the sums name it.
    Dir(PathBuf),
}

impl ModelSource {
    /// A name for these weights: SHA-256 of the list of their hashes. Readings keep it, so that it can be told
    /// later which models made them.
    pub fn version(&self) -> Result<String, TextError> {
        let sums = match self {
            ModelSource::Embedded => include_bytes!("../../models/SHA256SUMS").to_vec(),
            ModelSource::Dir(folder) => read(&folder.join("SHA256SUMS"))?,
        };
        Ok(hexadecimal(&sums))
    }
}

/// SHA-256, hexadecimal.
fn hexadecimal(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

/// Why text could not be read, other than by the photo's fault.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs)] // the messages say it
pub enum TextError {
    #[error("{}: cannot be read: {source}. A models folder holds det.onnx, rec.onnx, alphabet.txt and SHA256SUMS", path.display())]
    Missing {
        path: PathBuf,
        source: std::io::Error,
    },
    #[error("{}: sha256 is {found}, SHA256SUMS says {expected}. Copy the models folder again, or build it anew", path.display())]
    Checksum {
        path: PathBuf,
        found: String,
        expected: String,
    },
    #[error(
        "{name}: is not a model that can be used here: {detail}. Take a models folder of this version, or build it anew"
    )]
    Model { name: String, detail: String },
    #[error("reading text failed inside the network: {0}. Please report this with the photo")]
    Run(String),
}

/// The files of a models folder.
pub(super) struct Files {
    pub det: Vec<u8>,
    pub rec: Vec<u8>,
    /// The second reader, where there is one.
    pub second: Option<Vec<u8>>,
    pub alphabet: String,
}

impl Files {
    pub fn read(source: &ModelSource) -> Result<Files, TextError> {
        match source {
            ModelSource::Embedded => Ok(Files {
                det: include_bytes!("../../models/det.onnx").to_vec(),
                rec: include_bytes!("../../models/rec.onnx").to_vec(),
                second: Some(include_bytes!("../../models/second.onnx").to_vec()),
                alphabet: include_str!("../../models/alphabet.txt").to_owned(),
            }),
            ModelSource::Dir(folder) => {
                let sums_path = folder.join("SHA256SUMS");
                let sums = String::from_utf8_lossy(&read(&sums_path)?).into_owned();
                let file = |name: &str| checked(folder, name, &sums);
                Ok(Files {
                    det: file("det.onnx")?,
                    rec: file("rec.onnx")?,
                    second: sums
                        .lines()
                        .any(|line| line.ends_with("second.onnx"))
                        .then(|| file("second.onnx"))
                        .transpose()?,
                    alphabet: String::from_utf8_lossy(&file("alphabet.txt")?).into_owned(),
                })
            }
        }
    }
}

fn read(path: &Path) -> Result<Vec<u8>, TextError> {
    std::fs::read(path).map_err(|source| TextError::Missing {
        path: path.to_owned(),
        source,
    })
}

/// A file of a models folder, if it is what the folder's sums say.
fn checked(folder: &Path, name: &str, sums: &str) -> Result<Vec<u8>, TextError> {
    let path = folder.join(name);
    let bytes = read(&path)?;
    let found = hexadecimal(&bytes);
    let expected = sums
        .lines()
        .filter_map(|line| line.split_once(char::is_whitespace))
        .find(|(_, file)| file.trim_start_matches([' ', '*']) == name)
        .map_or("nothing about it", |(sum, _)| sum);
    if found != expected {
        let expected = expected.to_owned();
        return Err(TextError::Checksum {
            path,
            found,
            expected,
        });
    }
    Ok(bytes)
}

/// A network with one picture, or several of one size, as input and one output.
pub(super) struct Network {
    model: Model,
}

impl Network {
    pub fn new(name: &str, onnx: Vec<u8>) -> Result<Network, TextError> {
        ModelOptions::with_all_ops()
            .prepack_weights(true)
            .load(onnx)
            .map(|model| Network { model })
            .map_err(|error| TextError::Model {
                name: name.to_owned(),
                detail: error.to_string(),
            })
    }

    /// Runs the network on `input` [n, channels, height, width].
    pub fn run(
        &self,
        input: NdTensor<f32, 4>,
        pool: &Arc<ThreadPool>,
    ) -> Result<Tensor<f32>, TextError> {
        let options = RunOptions::default().with_thread_pool(Some(pool.clone()));
        let output = self
            .model
            .run_one(input.into(), Some(options))
            .map_err(|error| TextError::Run(error.to_string()))?;
        output
            .try_into()
            .map_err(|_| TextError::Run("its output is not made of numbers".to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn models() -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("models")
    }

    fn read_error(folder: &Path) -> String {
        match Files::read(&ModelSource::Dir(folder.to_owned())) {
            Ok(_) => "no error".to_owned(),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn a_models_folder_is_checked_against_its_sums() {
        let given = Files::read(&ModelSource::Dir(models())).unwrap();
        let embedded = Files::read(&ModelSource::Embedded).unwrap();
        assert!(given.det == embedded.det && given.rec == embedded.rec);

        let folder = tempfile::tempdir().unwrap();
        assert!(read_error(folder.path()).contains("SHA256SUMS"));
        for name in ["SHA256SUMS", "det.onnx", "rec.onnx", "second.onnx"] {
            std::fs::copy(models().join(name), folder.path().join(name)).unwrap();
        }
        assert!(read_error(folder.path()).contains("alphabet.txt"));
        std::fs::write(folder.path().join("alphabet.txt"), "abc\n").unwrap();
        assert!(read_error(folder.path()).contains("sha256"));
    }

    /// What is compiled in was checked when it was made: here it is held to its sums.
    #[test]
    fn the_embedded_models_are_those_of_their_sums() {
        let sums = include_str!("../../models/SHA256SUMS");
        let files = Files::read(&ModelSource::Embedded).unwrap();
        let second = files.second.unwrap();
        for (name, bytes) in [
            ("det.onnx", files.det.as_slice()),
            ("rec.onnx", &files.rec),
            ("second.onnx", &second),
            ("alphabet.txt", files.alphabet.as_bytes()),
        ] {
            let line = format!("{}  {name}", hexadecimal(bytes));
            assert!(sums.lines().any(|l| l == line), "{line}");
        }
    }

    #[test]
    fn what_is_no_model_is_refused_by_name() {
        let error = Network::new("det.onnx", b"not a model".to_vec())
            .err()
            .unwrap();
        assert!(error.to_string().contains("det.onnx"), "{error}");
    }
}
