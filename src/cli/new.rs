//! `groundfit new`: a commented starter project in a folder. Knows the text of
//! the starter, not what its keys mean.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::PathBuf;

/// The text of the starter project.
pub const STARTER: &str = include_str!("new/starter.toml");

/// The name of the file that is written.
const FILE_NAME: &str = "project.toml";

/// Write a commented starter project.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  groundfit new my-site\n  groundfit check my-site/project.toml")]
pub struct NewCommand {
    /// The folder for project.toml; made if it is not there
    pub folder: PathBuf,
}

/// Why no starter project was written.
#[derive(Debug, thiserror::Error)]
pub enum NewError {
    /// There is a project already.
    #[error("found a project file {} already, needed a folder without one: nothing was written", path.display())]
    Exists {
        /// The file that is there.
        path: PathBuf,
    },
    /// The folder could not be made.
    #[error("folder {} could not be made", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file could not be written.
    #[error("project file {} could not be written", path.display())]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// What was done could not be told.
    #[error("the message could not be written")]
    Message {
        /// What the system said.
        #[from]
        source: std::io::Error,
    },
}

/// Writes the starter project and tells on `out` what to do next.
///
/// # Errors
/// The folder has a project file already, or cannot be written.
pub fn run(command: &NewCommand, out: &mut dyn Write) -> Result<(), NewError> {
    let path = command.folder.join(FILE_NAME);
    std::fs::create_dir_all(&command.folder).map_err(|source| NewError::Folder {
        path: command.folder.clone(),
        source,
    })?;
    let mut file = match OpenOptions::new().write(true).create_new(true).open(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(NewError::Exists { path });
        }
        Err(source) => return Err(NewError::Unwritable { path, source }),
    };
    if let Err(source) = file.write_all(STARTER.as_bytes()).and_then(|()| file.sync_all()) {
        // Half a project file would pass for a whole one.
        drop(file);
        let _ = std::fs::remove_file(&path);
        return Err(NewError::Unwritable { path, source });
    }
    writeln!(out, "wrote {}", path.display())?;
    writeln!(out, "next: put in your own layers, then run")?;
    writeln!(out, "  groundfit check {}", path.display())?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Project, ProjectError};

    fn written(folder: PathBuf) -> (Result<(), NewError>, String) {
        let mut said = Vec::new();
        let result = run(&NewCommand { folder }, &mut said);
        (result, String::from_utf8(said).unwrap())
    }

    #[test]
    fn the_starter_lacks_nothing_but_its_files() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("a new/site");
        let (result, said) = written(folder.clone());
        result.unwrap();
        assert!(said.starts_with("wrote "), "{said}");
        let path = folder.join(FILE_NAME);
        let Err(ProjectError::Problems { problems, .. }) = Project::read(&path) else {
            panic!("the files cannot be there yet");
        };
        assert_eq!(problems.len(), 7);
        for problem in &problems {
            assert!(problem.text.starts_with("no such file"), "{problem}");
        }

        std::fs::create_dir(folder.join("layers")).unwrap();
        for layer in [
            "boundary.gpkg",
            "soils.gpkg",
            "canopy.tif",
            "elevation.tif",
            "roads.gpkg",
        ] {
            std::fs::write(folder.join("layers").join(layer), "").unwrap();
        }
        let project = Project::read(&path).unwrap();
        assert_eq!(project.factors.len(), 5);
        assert_eq!(project.factors[0].factor.id, "drainage");
    }

    #[test]
    fn what_is_commented_out_is_valid_too() {
        let mut text = String::new();
        for line in STARTER.lines() {
            let off = line.strip_prefix("# ").filter(|line| {
                let key = line.split(" = ").next().unwrap_or_default();
                let heads = ["[factors", "[soil_survey", "[range"];
                let is_head = heads.iter().any(|head| line.starts_with(head));
                (line.contains(" = ") || is_head) && !key.contains(' ')
            });
            // The two ways to write words exclude each other.
            let line = off.filter(|line| !line.contains(".csv\"")).unwrap_or(line);
            text.push_str(line);
            text.push('\n');
        }
        assert!(text.contains("\nkind = \"measured\""), "{text}");
        let Err(ProjectError::Problems { problems, .. }) = Project::parse(&text, "x/project.toml".as_ref())
        else {
            panic!("the files are not there");
        };
        for problem in &problems {
            assert!(problem.text.starts_with("no such file"), "{problem}");
        }
    }

    #[test]
    fn a_project_is_never_overwritten() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join(FILE_NAME);
        std::fs::write(&path, "mine").unwrap();
        let (result, said) = written(place.path().to_owned());
        let error = result.unwrap_err();
        assert!(matches!(error, NewError::Exists { .. }), "{error}");
        assert!(said.is_empty());
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    }

    #[test]
    fn a_file_in_the_folders_place_is_told() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("file");
        std::fs::write(&path, "").unwrap();
        assert!(matches!(written(path).0, Err(NewError::Folder { .. })));
    }
}
