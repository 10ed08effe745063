//! Photographs, each kept once under the hash of its bytes and never changed.

use crate::chain::hash_of_picture;
use crate::store::For;
use crate::{Book, BookError};

/// The largest picture, in bytes.
pub const PICTURE_LIMIT_BYTES: usize = 400_000;

impl Book {
    /// Keeps a picture and gives the hash it is found under: SHA-256 of its bytes in lower-case hexadecimal. The same
    /// picture again is kept once. When this returns, it is on the disk.
    ///
    /// # Errors
    /// [`BookError::Refused`] for one that is empty or too large; what [`BookError`] tells of the storage.
    pub async fn keep_picture(&self, bytes: &[u8]) -> Result<String, BookError> {
        if bytes.is_empty() || bytes.len() > PICTURE_LIMIT_BYTES {
            return Err(BookError::Refused {
                field: "the picture",
                why: format!(
                    "it has {} bytes, 1 to {PICTURE_LIMIT_BYTES} are kept; make it smaller",
                    bytes.len()
                ),
            });
        }
        let hash = hash_of_picture(bytes);
        let mut session = self.begin(For::Writing).await?;
        if session.picture(&hash).await?.is_some() {
            session.leave().await?;
        } else {
            session.add_picture(&hash, bytes).await?;
            session.commit().await?;
            self.settle().await;
        }
        Ok(hash)
    }

    /// The picture with a hash.
    ///
    /// # Errors
    /// [`BookError::Damaged`] where its bytes aren't what was kept; what [`BookError`] tells of the storage.
    pub async fn picture(&self, hash: &str) -> Result<Option<Vec<u8>>, BookError> {
        let found = self.read().await?.picture(hash).await?;
        if found
            .as_ref()
            .is_some_and(|bytes| hash_of_picture(bytes) != hash)
        {
            return Err(BookError::Damaged {
                path: self.path().to_owned(),
                what: format!("the picture {hash} is not what was kept"),
            });
        }
        Ok(found)
    }
}
